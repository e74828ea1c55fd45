/**
 * Looks at a running controller as a trace with its run, so that the same strips, tables and pages show
 * what it did. Looks come some ten or twenty times a second, not in every tick: a span ends with the look that
 * shows another reason. Looks in rising time in, in the units that stand beside their values; columns in
 * the core's units, and times in ms since the first look, out.
 */
import { HEALTH_WORDS, INPUTS, type InputName } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import type { Look } from '../link/look-record.js';
import type { CutoffSpan, Run, Span, Spray, SprayKind } from '../replay/run.js';
import type { ChannelName, Trace } from '../trace/trace.js';

const TICK_MS = 20;

/** Core units in one unit of a look. Feedback answers outputs that a replay need not decide: it stays out. */
const SCALES: Readonly<Partial<Record<InputName, number>>> = {
  ...{ rpm: 1, boost: 1, charge: 10, ambient: 10, humidity: 10, speed: 10, level: 1, supply: 1000 },
};

/** What the looks' controller is called, and what it runs with. */
export interface LiveNames {
  readonly name: string;
  readonly settings: Settings;
  readonly settingsName: string;
}

/** The readings of the looks. Throws if there are none. */
export function traceOfLooks(looks: readonly Look[], name: string): Trace {
  const [first] = looks;
  const timeMs = Int32Array.from(looks, ({ nowMs }) => nowMs - first.nowMs);
  const columns: Partial<Record<ChannelName, Int32Array>> = {
    arm: Int32Array.from(looks, ({ armed }) => Number(armed)),
    stage: Int32Array.from(looks, ({ mode }) => Number(mode !== 'road')),
    button: Int32Array.from(looks, ({ button }) => Number(button)),
  };
  first.readings.forEach(({ input }, at) => {
    const scale = SCALES[input];
    if (scale === undefined) return;
    columns[input] = Int32Array.from(looks, (look) => Math.round(look.readings[at].value * scale));
  });
  const apart = Array.from(timeMs.subarray(1), (ms, index) => ms - timeMs[index]);
  apart.sort((a, b) => a - b);
  const count = looks.length;
  return {
    name,
    timeMs,
    columns,
    faults: Int32Array.from(looks, faultsOf),
    rows: { read: count, used: count, repaired: 0, refused: 0 },
    leadingRows: 0,
    timeRepairs: 0,
    medianMs: apart[apart.length >> 1] ?? TICK_MS,
    sources: [],
    reference: { hpa: 1013, source: 'recorded-gauge' },
    notes: ['Looks at a running controller, not every tick of it.'],
  };
}

/** Health as a tick record has it; what is not fitted says nothing. */
function faultsOf({ readings }: Look): number {
  let word = 0;
  for (const { input, health } of readings) {
    if (SCALES[input] === undefined) continue;
    const fault = Math.max(0, (HEALTH_WORDS as readonly string[]).indexOf(health));
    word |= fault << (3 * INPUTS.indexOf(input));
  }
  return word;
}

/** What the controller did, as it said itself. */
export function runOfLooks(looks: readonly Look[], trace: Trace, names: LiveNames): Run {
  const { settings, settingsName } = names;
  const [first] = looks;
  const last = looks[looks.length - 1];
  const ticks = Math.floor((last.nowMs - first.nowMs) / TICK_MS) + 1;
  const endMs = ticks * TICK_MS;
  const at = (look: Look) => Math.floor((look.nowMs - first.nowMs) / TICK_MS) * TICK_MS;
  const stretches = stretchesOf(looks, endMs, at);
  const sprays = stretches.filter(({ look }) => look.pump).reduce(joined, [] as Spray[]);
  const charge = trace.columns.charge ?? new Int32Array(looks.length);
  const waterUl = usedUl(looks);
  return {
    ...{ trace, settings, settingsName, ticks, seconds: endMs / 1000, between: 'hold' },
    spans: stretches.map(spanOf),
    sprays,
    cutoffs: cutoffsOf(stretches),
    events: [],
    reasonSeconds: secondsByReason(stretches),
    tank: tankOf(looks, endMs, at),
    // As if a refill on the way had come before the first look.
    tankStartUl: ulOf(last) + waterUl,
    tankEndUl: ulOf(last),
    waterUl,
    spraySeconds: sprays.reduce((sum, { fromMs, toMs }) => sum + toMs - fromMs, 0) / 1000,
    aboveOnSeconds: secondsAbove(trace, charge, settings.tempOnDc),
    chargeMaxDc: charge.reduce((most, value) => Math.max(most, value), -10_000),
    rulesOff: [],
    notes: trace.notes ?? [],
  };
}

interface Stretch {
  readonly look: Look;
  readonly fromMs: number;
  readonly toMs: number;
  readonly chargeDc: number;
}

/** Neighbouring looks that say the same. */
function stretchesOf(looks: readonly Look[], endMs: number, at: (look: Look) => number): Stretch[] {
  const firsts = looks.filter((look, index) => index === 0 || !isLike(look, looks[index - 1]));
  return firsts
    .map((look, index) => ({
      look,
      fromMs: at(look),
      toMs: index + 1 < firsts.length ? at(firsts[index + 1]) : endMs,
      chargeDc: Math.round(
        10 * (look.readings.find(({ input }) => input === 'charge')?.value ?? 0),
      ),
    }))
    .filter(({ fromMs, toMs }) => toMs > fromMs);
}

function isLike(one: Look, other: Look): boolean {
  return (
    one.reason === other.reason &&
    one.pump === other.pump &&
    one.demand === other.demand &&
    one.cutoffs.join() === other.cutoffs.join()
  );
}

function spanOf({ look, fromMs, toMs }: Stretch): Span {
  const cutoffs = look.cutoffs.reduce((bits, id) => bits | (1 << bitOf(id)), 0);
  return { fromMs, toMs, reason: look.reason, cutoffs, demand: look.demand !== 0 };
}

function bitOf(id: string): number {
  return CUTOFFS.findIndex((row) => row.id === id);
}

/** Adds a stretch to the sprays, or to the last of them if it goes on. */
function joined(sprays: Spray[], { look, fromMs, toMs, chargeDc }: Stretch): Spray[] {
  const last = sprays[sprays.length - 1] as Spray | undefined;
  if (last?.toMs === fromMs) return [...sprays.slice(0, -1), { ...last, toMs }];
  const kind = (look.reason.replace('spray-', '') || 'automatic') as SprayKind;
  return [...sprays, { fromMs, toMs, kind, chargeDcAtStart: chargeDc }];
}

function cutoffsOf(stretches: readonly Stretch[]): CutoffSpan[] {
  const spans: CutoffSpan[] = [];
  CUTOFFS.forEach(({ id }, bit) => {
    for (const { look, fromMs, toMs } of stretches) {
      if (!look.cutoffs.includes(id)) continue;
      const last = spans[spans.length - 1] as CutoffSpan | undefined;
      if (last?.id === id && last.toMs === fromMs) spans[spans.length - 1] = { ...last, toMs };
      else spans.push({ id, bit, fromMs, toMs });
    }
  });
  return spans.sort((a, b) => a.fromMs - b.fromMs || a.bit - b.bit);
}

function secondsByReason(stretches: readonly Stretch[]): Map<string, number> {
  const sums = new Map<string, number>();
  for (const { look, fromMs, toMs } of stretches) {
    sums.set(look.reason, (sums.get(look.reason) ?? 0) + (toMs - fromMs) / 1000);
  }
  return new Map([...sums].sort((a, b) => b[1] - a[1]));
}

function ulOf({ tankL }: Look): number {
  return Math.round(tankL * 1e6);
}

/** What the estimate fell by, refills left out. */
function usedUl(looks: readonly Look[]): number {
  return looks.reduce((sum, look, index) => {
    const fell = index === 0 ? 0 : ulOf(looks[index - 1]) - ulOf(look);
    return sum + Math.max(0, fell);
  }, 0);
}

/** An entry wherever it changed, and before it, so that a level stretch stays level. */
function tankOf(
  looks: readonly Look[],
  endMs: number,
  at: (look: Look) => number,
): [number, number][] {
  const entries: [number, number][] = [[0, ulOf(looks[0])]];
  looks.forEach((look, index) => {
    const before = looks[Math.max(0, index - 1)];
    if (ulOf(look) === ulOf(before)) return;
    entries.push([at(before), ulOf(before)], [at(look), ulOf(look)]);
  });
  return [...entries, [endMs, ulOf(looks[looks.length - 1])]];
}

function secondsAbove({ timeMs }: Trace, charge: Int32Array, onDc: number): number {
  let sum = 0;
  for (let row = 0; row + 1 < charge.length; row += 1) {
    if (charge[row] >= onDc) sum += timeMs[row + 1] - timeMs[row];
  }
  return sum / 1000;
}
