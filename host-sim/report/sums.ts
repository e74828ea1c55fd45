/**
 * What page, text and JSON say about a run, computed once: sprays by kind, reasons and cutoffs with
 * their first times, pauses, the fullest duty window. Times are ms since the first tick, water is in
 * microlitres. Parts are rounded so that what is printed adds up to what is printed as the whole.
 */
import type { Run, Spray, SprayKind } from '../replay/run.js';
import { roundToSum } from './format.js';

export interface KindSum {
  readonly kind: SprayKind;
  readonly count: number;
  readonly ms: number;
  readonly waterUl: number;
  readonly firstMs: number;
  readonly longestMs: number;
  /** Charge at the start of the coolest and of the hottest spray, 0.1 degC. */
  readonly chargeMinDc: number;
  readonly chargeMaxDc: number;
}

export interface ReasonSum {
  readonly id: string;
  readonly ms: number;
  /** Tenths of a second; over all reasons they sum to `Sums.lengthTenths`. */
  readonly tenths: number;
  /** Tenths of a percent; over all reasons they sum to 1000. */
  readonly shareTenths: number;
  readonly firstMs: number;
}

export interface CutoffSum {
  readonly id: string;
  readonly count: number;
  readonly firstMs: number;
  readonly longestMs: number;
  readonly totalMs: number;
  /** Whether it still held when the run ended. */
  readonly atEnd: boolean;
}

export interface Sums {
  readonly lengthMs: number;
  readonly lengthTenths: number;
  readonly sprayCount: number;
  readonly sprayMs: number;
  /** Share of the run spent spraying, 0..1. */
  readonly duty: number;
  readonly kinds: readonly KindSum[];
  readonly reasons: readonly ReasonSum[];
  /** By first time, then by bit. */
  readonly cutoffs: readonly CutoffSum[];
  /** When the charge first reached tempOn; undefined if never. */
  readonly firstOnMs: number | undefined;
  /** Shortest and longest pause between two sprays less than two rests apart. */
  readonly pause: { readonly minMs: number; readonly maxMs: number } | undefined;
  /** Most spray in any duty window that fits the run, and where that window began. */
  readonly fullest: { readonly ms: number; readonly fromMs: number };
}

/** Everything a report says of a run in numbers, from its spans, sprays and cutoffs. */
export function sumUp(run: Run): Sums {
  const lengthMs = Math.round(run.seconds * 1000);
  return {
    lengthMs,
    lengthTenths: Math.round(lengthMs / 100),
    sprayCount: run.sprays.length,
    sprayMs: Math.round(run.spraySeconds * 1000),
    duty: lengthMs === 0 ? 0 : (run.spraySeconds * 1000) / lengthMs,
    kinds: sumKinds(run),
    reasons: sumReasons(run, lengthMs),
    cutoffs: sumCutoffs(run, lengthMs),
    firstOnMs: firstAtOrAbove(run),
    pause: pauseRange(run),
    fullest: fullestWindow(run.sprays, run.settings.dutyWindowMs),
  };
}

function sumKinds(run: Run): KindSum[] {
  const byKind = new Map<SprayKind, Spray[]>();
  for (const spray of run.sprays) {
    const list = byKind.get(spray.kind);
    if (list === undefined) byKind.set(spray.kind, [spray]);
    else list.push(spray);
  }
  const groups = [...byKind].map(([kind, list]) => ({ kind, list, ms: total(list) }));
  const allMs = groups.reduce((sum, group) => sum + group.ms, 0);
  const water = roundToSum(
    groups.map((group) => (allMs === 0 ? 0 : (run.waterUl * group.ms) / allMs)),
    run.waterUl,
  );
  return groups.map(({ kind, list, ms }, index) => ({
    kind,
    count: list.length,
    ms,
    waterUl: water[index],
    firstMs: list[0].fromMs,
    longestMs: list.reduce((most, spray) => Math.max(most, spray.toMs - spray.fromMs), 0),
    chargeMinDc: list.reduce((low, spray) => Math.min(low, spray.chargeDcAtStart), Infinity),
    chargeMaxDc: list.reduce((high, spray) => Math.max(high, spray.chargeDcAtStart), -Infinity),
  }));
}

function total(list: readonly { fromMs: number; toMs: number }[]): number {
  return list.reduce((sum, { fromMs, toMs }) => sum + toMs - fromMs, 0);
}

function sumReasons(run: Run, lengthMs: number): ReasonSum[] {
  const firstMs = new Map<string, number>();
  for (const span of run.spans)
    if (!firstMs.has(span.reason)) firstMs.set(span.reason, span.fromMs);
  const list = [...run.reasonSeconds].map(([id, held]) => ({ id, ms: Math.round(held * 1000) }));
  const wholeMs = lengthMs === 0 ? 1 : lengthMs;
  const tenths = roundToSum(
    list.map(({ ms }) => ms / 100),
    lengthMs / 100,
  );
  const shares = roundToSum(
    list.map(({ ms }) => (ms * 1000) / wholeMs),
    1000,
  );
  return list.map(({ id, ms }, index) => ({
    id,
    ms,
    tenths: tenths[index],
    shareTenths: shares[index],
    firstMs: firstMs.get(id) ?? 0,
  }));
}

function sumCutoffs(run: Run, lengthMs: number): CutoffSum[] {
  const byId = new Map<string, CutoffSum & { bit: number }>();
  for (const { id, bit, fromMs, toMs } of run.cutoffs) {
    const so = byId.get(id);
    byId.set(id, {
      id,
      bit,
      count: (so?.count ?? 0) + 1,
      firstMs: Math.min(so?.firstMs ?? fromMs, fromMs),
      longestMs: Math.max(so?.longestMs ?? 0, toMs - fromMs),
      totalMs: (so?.totalMs ?? 0) + toMs - fromMs,
      atEnd: (so?.atEnd ?? false) || toMs >= lengthMs,
    });
  }
  return [...byId.values()].sort((a, b) => a.firstMs - b.firstMs || a.bit - b.bit);
}

function firstAtOrAbove(run: Run): number | undefined {
  const charge = run.trace.columns.charge;
  if (charge === undefined) return undefined;
  const row = charge.findIndex((value) => value >= run.settings.tempOnDc);
  return row < 0 ? undefined : run.trace.timeMs[row];
}

function pauseRange(run: Run): Sums['pause'] {
  let minMs = Infinity;
  let maxMs = -Infinity;
  for (let i = 1; i < run.sprays.length; i += 1) {
    const pauseMs = run.sprays[i].fromMs - run.sprays[i - 1].toMs;
    if (pauseMs > 2 * run.settings.restMs) continue;
    minMs = Math.min(minMs, pauseMs);
    maxMs = Math.max(maxMs, pauseMs);
  }
  return maxMs < 0 ? undefined : { minMs, maxMs };
}

/** A fullest window can be moved until it begins with a spray, so only those are tried. */
function fullestWindow(sprays: readonly Spray[], windowMs: number): Sums['fullest'] {
  const before = [0];
  for (const spray of sprays) before.push(before[before.length - 1] + spray.toMs - spray.fromMs);
  let best = { ms: 0, fromMs: 0 };
  let last = 0;
  for (let first = 0; first < sprays.length; first += 1) {
    const fromMs = sprays[first].fromMs;
    while (last < sprays.length && sprays[last].fromMs < fromMs + windowMs) last += 1;
    const beyondMs = Math.max(0, sprays[last - 1].toMs - fromMs - windowMs);
    const ms = before[last] - before[first] - beyondMs;
    if (ms > best.ms) best = { ms, fromMs };
  }
  return best;
}

/** The first moment two runs report different reasons; undefined if they never do. */
export interface Difference {
  readonly atMs: number;
  readonly reasonA: string;
  readonly reasonB: string;
}

/** Compares two runs of one trace over the time both have. A run's end is reason "ended". */
export function firstDifference(a: Run, b: Run): Difference | undefined {
  let i = 0;
  let j = 0;
  let atMs = 0;
  while (i < a.spans.length || j < b.spans.length) {
    const reasonA = a.spans[i]?.reason ?? 'ended';
    const reasonB = b.spans[j]?.reason ?? 'ended';
    if (reasonA !== reasonB) return { atMs, reasonA, reasonB };
    const endA = a.spans[i].toMs;
    const endB = b.spans[j].toMs;
    atMs = Math.min(endA, endB);
    if (endA === atMs) i += 1;
    if (endB === atMs) j += 1;
  }
  return undefined;
}
