/**
 * Keys, pointer and buttons on the picture. Everything a pointer can do has a key and a button: dragging
 * pans, a click sets the mark, the wheel with Ctrl (or two fingers) zooms. Keys act only while the
 * picture has the focus.
 */
import { jumpFrom, jumpTimes, type JumpKind } from '../jumps.js';
import { panned, showing, viewAt, wholeView, zoomed } from '../view.js';
import { byId } from './dom.js';
import type { Model } from './model.js';
import type { Picture } from './picture.js';

const DRAG_PX = 4;
const ZOOM = 0.6;

/** Connects them all. */
export function listenToGestures(model: Model, picture: Picture): void {
  const acts = actsOf(model);
  listenToKeys(model, acts);
  listenToPointer(model, picture);
  for (const [id, act] of Object.entries(acts)) byId(id).addEventListener('click', act);
  model.on(['runs'], () => {
    if (byId('hint').textContent === NO_RUN_YET) say('');
  });
}

type Acts = Readonly<Record<string, () => void>>;

/** What each button does, by its id. */
function actsOf(model: Model): Acts {
  const jump = (kind: JumpKind, direction: 'next' | 'previous') => () => {
    const { a } = model.runs;
    if (a === undefined) return say(NO_RUN_YET);
    const ms = jumpFrom(jumpTimes(a, kind), model.markMs, direction);
    if (ms === undefined) return say(`No ${direction} ${WORDS[kind]} in this run.`);
    moveMark(model, ms);
  };
  const zoom = (factor: number) => () =>
    model.setView(zoomed(model.view, factor, centre(model), model.lengthMs));
  const pan = (share: number) => () => model.setView(panned(model.view, share, model.lengthMs));
  return {
    'previous-spray': jump('spray', 'previous'),
    'next-spray': jump('spray', 'next'),
    'previous-cutoff': jump('cutoff', 'previous'),
    'next-cutoff': jump('cutoff', 'next'),
    'previous-hot': jump('hot', 'previous'),
    'next-hot': jump('hot', 'next'),
    'zoom-in': zoom(ZOOM),
    'zoom-out': zoom(1 / ZOOM),
    'pan-back': pan(-0.25),
    'pan-on': pan(0.25),
    whole: () => model.setView(wholeView(model.lengthMs)),
  };
}

const WORDS: Readonly<Record<JumpKind, string>> = {
  spray: 'spray',
  cutoff: 'cutoff',
  hot: 'moment that is hot but dry',
};

/** What a jump, or saving the view, says while a trace that was just opened is driven. */
export const NO_RUN_YET = 'The run is not there yet: try again in a moment.';

/** A word under the picture, for what a jump did not find. */
export function say(text: string): void {
  byId('hint').textContent = text;
}

/** Moves the mark, and the view if it would be out of it. */
export function moveMark(model: Model, ms: number): void {
  if (model.runs.a === undefined) return say(NO_RUN_YET);
  model.hoverMs = undefined;
  model.setMark(ms);
  model.setView(showing(model.view, model.markMs, model.lengthMs));
}

/** The mark if it is in view, else the middle: what zooming keeps in its place. */
function centre({ view, markMs }: Model): number {
  const isIn = markMs >= view.fromMs && markMs <= view.toMs;
  return isIn ? markMs : (view.fromMs + view.toMs) / 2;
}

const KEYS: Readonly<Record<string, string>> = {
  s: 'next-spray',
  S: 'previous-spray',
  c: 'next-cutoff',
  C: 'previous-cutoff',
  h: 'next-hot',
  H: 'previous-hot',
  '+': 'zoom-in',
  '=': 'zoom-in',
  '-': 'zoom-out',
  '\u2212': 'zoom-out',
  '0': 'whole',
  PageUp: 'pan-back',
  PageDown: 'pan-on',
};

function listenToKeys(model: Model, acts: Acts): void {
  byId('strips').addEventListener('keydown', (event) => {
    if (event.altKey || event.metaKey) return;
    const isHandled = event.ctrlKey ? panByKey(event.key, acts) : actByKey(model, event, acts);
    if (isHandled) event.preventDefault();
  });
}

function panByKey(key: string, acts: Acts): boolean {
  const id = { ArrowLeft: 'pan-back', ArrowRight: 'pan-on' }[key];
  if (id === undefined) return false;
  acts[id]();
  return true;
}

function actByKey(model: Model, { key, shiftKey }: KeyboardEvent, acts: Acts): boolean {
  const act = acts[KEYS[key]];
  if (act !== undefined) {
    act();
    return true;
  }
  const steps: Readonly<Record<string, number>> = { ArrowLeft: -1, ArrowRight: 1 };
  const step = steps[key];
  if (step !== undefined) {
    // One step is what a person can see move: a two-hundredth of the view.
    const { fromMs, toMs } = model.view;
    const ms = shiftKey ? 20 : Math.max(20, (toMs - fromMs) / 200);
    moveMark(model, model.markMs + step * ms + (step > 0 ? 10 : 0));
    return true;
  }
  if (key === 'Home') moveMark(model, 0);
  else if (key === 'End') moveMark(model, model.lengthMs);
  else return false;
  return true;
}

/** Fingers or a mouse that are down, by their id. */
interface Drag {
  readonly pointers: Map<number, number>;
  fromX: number;
  moved: boolean;
}

function listenToPointer(model: Model, picture: Picture): void {
  const place = byId('strips');
  const drag: Drag = { pointers: new Map(), fromX: 0, moved: false };
  place.addEventListener('pointerdown', (event) => {
    if (event.button !== 0) return;
    drag.pointers.set(event.pointerId, event.clientX);
    if (drag.pointers.size > 1) return;
    drag.fromX = event.clientX;
    drag.moved = false;
  });
  place.addEventListener('pointermove', (event) => moved(event, model, picture, drag));
  const up = (event: PointerEvent) => {
    const wasDown = drag.pointers.delete(event.pointerId);
    if (event.type !== 'pointerup' || !wasDown || drag.moved || drag.pointers.size > 0) return;
    model.hoverMs = undefined;
    model.setMark(picture.msAt(event.clientX));
  };
  place.addEventListener('pointerup', up);
  place.addEventListener('pointercancel', up);
  place.addEventListener('pointerleave', () => {
    model.hoverMs = undefined;
    model.tell('hover');
  });
  place.addEventListener('dblclick', () => model.setView(wholeView(model.lengthMs)));
  place.addEventListener('wheel', (event) => wheeled(event, model, picture), { passive: false });
}

function moved(event: PointerEvent, model: Model, picture: Picture, drag: Drag): void {
  const before = drag.pointers.get(event.pointerId);
  if (before === undefined) {
    if (event.pointerType !== 'mouse') return;
    model.hoverMs = picture.msAt(event.clientX);
    return model.tell('hover');
  }
  if (Math.abs(event.clientX - drag.fromX) > DRAG_PX && !drag.moved) {
    drag.moved = true;
    // Only now: a captured pointer would send a simple click elsewhere.
    byId('strips').setPointerCapture(event.pointerId);
  }
  if (!drag.moved) return;
  if (drag.pointers.size === 2) pinch(event, model, picture, drag);
  else {
    const { fromMs, toMs } = model.view;
    const ms = ((before - event.clientX) / picture.frame.width) * (toMs - fromMs);
    model.setView(viewAt(fromMs + ms, toMs - fromMs, model.lengthMs));
  }
  drag.pointers.set(event.pointerId, event.clientX);
}

function pinch(event: PointerEvent, model: Model, picture: Picture, drag: Drag): void {
  const [one, two] = [...drag.pointers];
  const other = one[0] === event.pointerId ? two[1] : one[1];
  const before = Math.abs((drag.pointers.get(event.pointerId) ?? other) - other);
  const now = Math.abs(event.clientX - other);
  if (before < 8 || now < 8) return;
  const about = picture.msAt((event.clientX + other) / 2);
  model.setView(zoomed(model.view, before / now, about, model.lengthMs));
}

function wheeled(event: WheelEvent, model: Model, picture: Picture): void {
  const span = model.view.toMs - model.view.fromMs;
  if (event.ctrlKey) {
    event.preventDefault();
    const about = picture.msAt(event.clientX);
    model.setView(zoomed(model.view, Math.exp(event.deltaY / 300), about, model.lengthMs));
  } else if (Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
    event.preventDefault();
    const ms = (event.deltaX / picture.frame.width) * span;
    model.setView(viewAt(model.view.fromMs + ms, span, model.lengthMs));
  }
}
