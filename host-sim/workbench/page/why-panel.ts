/**
 * "Why not here?": the order of reasons at the mark, from the worker. First the sentence, then every rule
 * with its number, what it was held against and by how much; those that say "passed" fold away.
 */
import type { Explanation, Step, Verdict } from '../why.js';
import { byId, element, graphic, table } from './dom.js';
import type { Engine } from './engine.js';
import type { Model } from './model.js';
import type { Replayer } from './replayer.js';

const WORDS: Readonly<Record<Verdict, string>> = {
  stopped: 'stopped it',
  also: 'stops it too',
  passed: 'passed',
  'not reached': 'not reached',
};

/** Longer than a repeated key takes. */
const WAIT_MS = 60;

/** Keeps the panel in step with mark and settings; of several marks in a row only the last is asked. */
export function showWhy(
  model: Model,
  engine: Engine,
  replayer: Replayer,
  onTrouble: (error: unknown) => void,
): void {
  let changes = 0;
  let asked = 0;
  let timer = 0;
  const panel = byId('why');
  const ask = async (number: number) => {
    const { current, chosen, runs, markMs } = model;
    asked = number;
    if (current === undefined || runs.a === undefined) return;
    if (current.isLive === true) return sayLive();
    const sides = [chosen.a, ...(runs.b !== undefined && chosen.b !== undefined ? [chosen.b] : [])];
    const explanations: Explanation[] = [];
    for (const settings of sides) {
      const driving = replayer.driving(settings, '');
      explanations.push(await engine.ask('explain', { id: current.id, driving, atMs: markMs }));
    }
    if (number === asked) show(explanations);
  };
  model.on(['mark', 'runs', 'settings', 'loop'], () => {
    window.clearTimeout(timer);
    const number = ++changes;
    const done = () => number === changes && panel.removeAttribute('aria-busy');
    panel.setAttribute('aria-busy', 'true');
    // A key that is held down moves mark or setting thirty times a second; while the worker drives the
    // trace for the picture, it is not asked to drive it for this panel too.
    const later = () => {
      if (replayer.isAtWork) timer = window.setTimeout(later, WAIT_MS);
      else void ask(number).catch(onTrouble).finally(done);
    };
    timer = window.setTimeout(later, WAIT_MS);
  });
}

function sayLive(): void {
  byId('why-title').textContent = 'Why, now';
  const hint =
    'Above stands the reason of this moment. Hold what is shown to ask about another one.';
  byId('why-body').replaceChildren(element('p', { class: 'small' }, hint));
}

function show(explanations: readonly Explanation[]): void {
  const [first] = explanations;
  byId('why-title').textContent = first.sprays ? 'Why it sprays here' : 'Why not here?';
  const wereOpen = document.querySelector<HTMLDetailsElement>('#why details')?.open ?? false;
  const letters = explanations.length > 1 ? ['A', 'B'] : [''];
  byId('why-body').replaceChildren(
    ...explanations.flatMap((each, index) => nodesOf(each, letters[index], wereOpen)),
  );
}

function nodesOf(explanation: Explanation, letter: string, isOpen: boolean): HTMLElement[] {
  const { steps, sentence, unhealthy, forButton } = explanation;
  const telling = steps.filter(({ verdict }) => verdict === 'stopped' || verdict === 'also');
  // Where it sprays, and beside the rule that stopped it, the thresholds are what people look for.
  const thresholds = steps.filter(
    ({ group, verdict }) => group !== 'cutoff' && !isTelling(verdict),
  );
  const quiet = steps.filter(({ group, verdict }) => group === 'cutoff' && !isTelling(verdict));
  const say = element('p', { class: 'say' }, letter === '' ? '' : `${letter}: `, sentence);
  const notes = [
    ...(forButton ? ['The button is pressed: what stops it is the first reason.'] : []),
    ...(unhealthy.length > 0 ? [`Not believed: ${unhealthy.join(', ')}.`] : []),
  ].map((note) => element('p', { class: 'small' }, note));
  const details = element(
    'details',
    isOpen ? { open: '' } : {},
    element('summary', {}, `${quiet.length} cutoffs that let it pass`),
    tableOf('cutoffs that passed', quiet),
  );
  return [
    say,
    ...notes,
    tableOf('the order of reasons', [...telling, ...thresholds].sort(inOrder(steps))),
    details,
  ];
}

function isTelling(verdict: Verdict): boolean {
  return verdict === 'stopped' || verdict === 'also';
}

function inOrder(steps: readonly Step[]): (one: Step, other: Step) => number {
  return (one, other) => steps.indexOf(one) - steps.indexOf(other);
}

function tableOf(caption: string, steps: readonly Step[]): HTMLElement {
  return table(
    caption,
    [
      { head: 'rule' },
      { head: 'here' },
      { head: 'measured' },
      { head: 'must be' },
      { head: 'by how much' },
    ],
    steps.map(({ id, verdict, measured, against, margin }) => [
      id,
      element('span', { class: 'verdict' }, sign(verdict), WORDS[verdict]),
      measured,
      against,
      margin,
    ]),
    (index) => steps[index].verdict.replace('not reached', 'unreached'),
  );
}

/** A sign beside the word, for whoever looks rather than reads. */
function sign(verdict: Verdict): SVGElement {
  const paths: Readonly<Record<Verdict, string>> = {
    stopped: 'M3 3L11 11M11 3L3 11',
    also: 'M3 3L11 11M11 3L3 11',
    passed: 'M2 8L6 12L12 3',
    'not reached': 'M3 7H11',
  };
  const path = graphic('path', {
    d: paths[verdict],
    fill: 'none',
    stroke: 'currentColor',
    'stroke-width': verdict === 'stopped' ? 2.6 : 1.6,
  });
  return graphic(
    'svg',
    { width: 14, height: 14, viewBox: '0 0 14 14', 'aria-hidden': 'true' },
    path,
  );
}
