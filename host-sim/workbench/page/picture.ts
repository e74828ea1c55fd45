/**
 * The picture: strips above each other on one time axis, the ribbon of reasons, the tank, and the mark,
 * which is a slider: the arrow keys move it, and it says its time, its values and its reason. Redraws at
 * most once a frame, and only what changed.
 */
import { gapMsOf, rowsToDraw } from '../../report/decimate.js';
import { axisOf, niceAxis } from '../../report/figure.js';
import { clock, decimal } from '../../report/format.js';
import { stripPlans, type Planned, type StripPlan } from '../../report/strips.js';
import type { Run } from '../../replay/run.js';
import type { Trace } from '../../trace/trace.js';
import { makePyramid, pyramidOver, type Pyramid } from '../pyramid.js';
import { currentLook, type Look } from './colours.js';
import { byId, element } from './dom.js';
import { filmContent, modelledCharge } from './model-strips.js';
import type { Model } from './model.js';
import { reasonAt, spoken, valuesAt } from './moment.js';
import { Ribbon, TimeAxis } from './ribbon.js';
import { Strip, type StripContent, type StripLine } from './strip.js';

/** A row of the picture: its label with the value at the mark, and what it draws. */
interface Row {
  readonly root: HTMLElement;
  readonly plot: HTMLElement;
  readonly output: HTMLOutputElement;
  readonly name: HTMLElement;
  readonly unit: HTMLElement;
}

const TANK_PX = 50;

export class Picture {
  private readonly place = byId('strips');
  private readonly rows = new Map<string, Row>();
  private readonly strips = new Map<string, Strip>();
  private readonly ribbons: Readonly<Record<'a' | 'b', Ribbon>>;
  private readonly axis: TimeAxis;
  private readonly mark = element('div', { class: 'mark' });
  private readonly hover = element('div', { class: 'hover' });
  private readonly pyramids = new WeakMap<Trace, Map<string, Pyramid | undefined>>();
  private look: Look = currentLook();
  private isContentStale = true;
  private isWaiting = false;
  private visible: string[] = [];
  private drawnPx = 0;

  constructor(private readonly model: Model) {
    for (const name of [
      'charge',
      'film',
      'boost',
      'rpm',
      'speed',
      'why-a',
      'why-b',
      'tank',
      'axis',
    ]) {
      const row = makeRow();
      this.rows.set(name, row);
      this.place.append(row.root);
    }
    this.place.append(this.hover, this.mark);
    this.ribbons = { a: new Ribbon(this.row('why-a').plot), b: new Ribbon(this.row('why-b').plot) };
    this.axis = new TimeAxis(this.row('axis').plot);
    label(this.row('axis'), 'Time', 'm:ss');
    this.row('why-a').output.className = 'words';
    this.row('why-b').output.className = 'words';
    model.on(['runs'], () => this.refresh(true));
    // While the worker drives a trace that was just opened, its lines are made ready here.
    model.on(['traces'], () => setTimeout(() => this.prepare()));
    model.on(['look'], () => this.lookAgain());
    model.on(['view'], () => this.refresh(false));
    model.on(['mark', 'hover'], () => this.refresh(false));
    new ResizeObserver(() => this.lookAgain()).observe(byId('bench'));
  }

  private lookAgain(): void {
    const width = this.row('axis').plot.clientWidth;
    const look = currentLook(this.look);
    if (look === this.look && width === this.drawnPx) return;
    this.look = look;
    this.refresh(true);
  }

  /** Where the axis begins and how long it is, CSS pixels from the picture's left edge. */
  get frame(): { readonly left: number; readonly width: number } {
    const { plot } = this.row('axis');
    const left = plot.getBoundingClientRect().left - this.place.getBoundingClientRect().left;
    const width = Math.max(1, plot.clientWidth - this.look.leftPx - this.look.rightPx);
    return { left: left + this.look.leftPx, width };
  }

  /** The moment under a place in the window. */
  msAt(clientX: number): number {
    const { left, width } = this.frame;
    const share = (clientX - this.place.getBoundingClientRect().left - left) / width;
    const { fromMs, toMs } = this.model.view;
    return fromMs + Math.max(0, Math.min(1, share)) * (toMs - fromMs);
  }

  private row(name: string): Row {
    return this.rows.get(name)!;
  }

  private refresh(content: boolean): void {
    this.isContentStale ||= content;
    if (this.isWaiting) return;
    this.isWaiting = true;
    requestAnimationFrame(() => {
      this.isWaiting = false;
      this.draw();
    });
  }

  private draw(): void {
    const { a } = this.model.runs;
    if (a === undefined || this.place.clientWidth === 0) return;
    const width = this.row('axis').plot.clientWidth;
    const isNew = this.isContentStale;
    if (isNew) this.showContent(a, width);
    this.isContentStale = false;
    this.drawnPx = width;
    const { view, runs, current } = this.model;
    for (const name of this.visible) this.strips.get(name)?.draw(view);
    this.ribbons.a.draw(a, view, this.look, width);
    const second = runs.b ?? current?.device;
    if (second !== undefined) this.ribbons.b.draw(second, view, this.look, width);
    this.axis.draw(view, this.look, width);
    this.placeMarks();
    this.sayMark(a);
    // For `npm run speed`, and for whoever looks at the browser's time line.
    if (isNew) performance.mark('smirr-redrawn');
  }

  private showContent(run: Run, width: number): void {
    const { b } = this.model.runs;
    const plans = stripPlans(run, b);
    this.visible = [];
    for (const plan of plans) {
      const content =
        plan.channel === 'charge' && run.model !== undefined
          ? modelledCharge(run, run.model, plan, b)
          : this.recorded(run, plan);
      this.row(plan.channel).root.hidden = content === undefined;
      if (content === undefined) continue;
      label(this.row(plan.channel), plan.name, plan.unit);
      this.showStrip(plan.channel, content, width);
    }
    this.row('film').root.hidden = run.model === undefined;
    if (run.model !== undefined) {
      label(this.row('film'), 'Film', 'ml on the fins');
      this.showStrip('film', filmContent(run, run.model, b), width);
    }
    const { device, isLive } = this.model.current ?? {};
    const unit = isLive === true ? 'reason, now and before' : 'reason of each tick';
    const alone = device === undefined ? 'Why' : 'Why, host core';
    label(this.row('why-a'), b === undefined ? alone : 'Why, A', unit);
    label(this.row('why-b'), b === undefined ? 'Why, controller' : 'Why, B', unit);
    this.row('why-b').root.hidden = b === undefined && device === undefined;
    label(this.row('tank'), 'Tank', 'litres, estimate');
    this.showStrip('tank', tankContent(run, b), width);
  }

  private showStrip(name: string, content: StripContent, width: number): void {
    const strip = this.strips.get(name) ?? new Strip(this.row(name).plot);
    this.strips.set(name, strip);
    strip.show(content, this.look, width);
    this.visible.push(name);
  }

  private recorded(run: Run, plan: StripPlan): StripContent | undefined {
    const column = run.trace.columns[plan.channel];
    const pyramid = column && this.pyramid(run, plan, column);
    if (pyramid === undefined) return undefined;
    const range = [pyramid.least, pyramid.most].map((value) => Math.round(value * plan.scale));
    const isHeat = plan.className === 'heat';
    const down = (value: number) => value / plan.scale;
    return {
      height: plan.height,
      axis: axisOf(plan, [range[0], range[1]]),
      lines: [
        {
          pyramid,
          colour: plan.className as 'heat' | 'press' | 'rev',
          width: isHeat ? 2 : 1.3,
          stepped: run.between === 'hold',
        },
      ],
      thresholds: plan.thresholds.map((each) => ({ ...each, value: down(each.value) })),
      ...(plan.tint !== undefined && { tint: [down(plan.tint[0]), down(plan.tint[1])] as const }),
      bands: run.sprays,
    };
  }

  private prepare(): void {
    const { current, runs, chosen } = this.model;
    if (current === undefined || runs.a !== undefined) return;
    const planned: Planned = { trace: current.trace, settings: chosen.a, cutoffs: [] };
    for (const plan of stripPlans(planned, undefined)) {
      const column = current.trace.columns[plan.channel];
      if (column !== undefined) this.pyramid(planned, plan, column);
    }
  }

  /** Built once for each trace and channel, and again only if what counts as a gap changes. */
  private pyramid(
    run: Planned,
    { channel, scale }: StripPlan,
    column: Int32Array,
  ): Pyramid | undefined {
    const gapMs = gapMsOf(run);
    const key = `${channel} ${gapMs}`;
    const built = this.pyramids.get(run.trace) ?? new Map<string, Pyramid | undefined>();
    this.pyramids.set(run.trace, built);
    if (!built.has(key)) {
      const rows = rowsToDraw(run.trace, channel, column);
      built.set(key, makePyramid({ timeMs: run.trace.timeMs, column, scale, gapMs, ...rows }));
    }
    return built.get(key);
  }

  // ---- the mark

  private placeMarks(): void {
    const { markMs, hoverMs, view } = this.model;
    const { left, width } = this.frame;
    const at = (ms: number) => left + ((ms - view.fromMs) / (view.toMs - view.fromMs)) * width;
    const isIn = (ms: number) => ms >= view.fromMs && ms <= view.toMs;
    this.mark.hidden = !isIn(markMs);
    this.mark.style.left = `${at(markMs)}px`;
    this.mark.dataset.time = clock(markMs, 2);
    this.mark.classList.toggle('flipped', at(markMs) > left + 0.8 * width);
    this.hover.hidden = hoverMs === undefined || !isIn(hoverMs);
    if (hoverMs !== undefined) this.hover.style.left = `${at(hoverMs)}px`;
  }

  private sayMark(run: Run): void {
    const ms = this.model.hoverMs ?? this.model.markMs;
    const values = valuesAt(run, ms);
    for (const [name, text] of Object.entries(values)) this.row(name).output.value = text;
    this.row('why-a').output.value = reasonAt(run, ms);
    const second = this.model.runs.b ?? this.model.current?.device;
    if (second !== undefined) this.row('why-b').output.value = reasonAt(second, ms);
    const { markMs } = this.model;
    this.place.setAttribute('aria-valuemax', String(this.model.lengthMs / 1000));
    this.place.setAttribute('aria-valuenow', String(markMs / 1000));
    this.place.setAttribute('aria-valuetext', spoken(run, markMs));
    this.row('axis').output.value = clock(ms, 2);
  }
}

function makeRow(): Row {
  const name = element('b');
  const unit = element('span');
  const output = element('output');
  const plot = element('div', { class: 'plot' });
  const head = element('div', { class: 'label' }, name, unit, output);
  return { root: element('div', { class: 'strip' }, head, plot), plot, output, name, unit };
}

function label(row: Row, name: string, unit: string): void {
  row.name.textContent = name;
  row.unit.textContent = unit;
}

function tankContent(run: Run, other: Run | undefined): StripContent {
  const full = Math.max(run.tankStartUl, other?.tankStartUl ?? 0, run.settings.reserveUl);
  const line = (one: Run, isSecond: boolean): StripLine => ({
    pyramid: tankPyramid(one),
    colour: 'water',
    width: isSecond ? 1.4 : 2,
    ...(isSecond && { dash: [2, 4] }),
    stepped: false,
  });
  return {
    height: TANK_PX,
    axis: niceAxis(0, full / 1e6, TANK_PX),
    lines: [line(run, false), ...(other === undefined ? [] : [line(other, true)])],
    thresholds: [
      {
        value: run.settings.reserveUl / 1e6,
        label: `reserve ${decimal(run.settings.reserveUl / 1e6, 2)}`,
      },
      { value: run.tankEndUl / 1e6, label: `left ${decimal(run.tankEndUl / 1e6, 2)}`, quiet: true },
    ],
    bands: run.sprays,
  };
}

function tankPyramid({ tank }: Run): Pyramid {
  const timeMs = Int32Array.from(tank, ([ms]) => ms);
  const value = Float32Array.from(tank, ([, ul]) => ul / 1e6);
  return pyramidOver({ timeMs, value });
}
