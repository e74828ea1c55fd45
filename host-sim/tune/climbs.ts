/**
 * Why a pick does other than today's settings, in words from its reasons. A climb is a stretch in which
 * the charge is over the target while the engine runs; in each the first spray of the pick is compared
 * with that of today's settings. Takes two replays of each trace; times are ms.
 */
import type { Run } from '../replay/run.js';
import { seconds } from '../report/format.js';
import { wordsFor } from '../report/words.js';
import { NOT_COUNTED, Place, TICK_MS, type Track } from './track.js';

export interface Climb {
  readonly fromMs: number;
  readonly toMs: number;
}

/** Under the target by this much the climb has ended, 0.1 degC; two that are nearer than this are one. */
const LETS_GO_DC = 20;
const APART_MS = 5000;
/** A spray this long before the charge reaches the target belongs to the climb. */
const LEAD_MS = 20_000;

/** The climbs of a track. */
export function climbsOf({ entries, ticks }: Track): Climb[] {
  const climbs: { fromMs: number; toMs: number }[] = [];
  let open: { fromMs: number; toMs: number } | undefined;
  for (let at = 0; entries[at] >= 0; at += Place.Count) {
    const atMs = entries[at] * TICK_MS;
    const over = entries[at + Place.Over];
    if (over > 0 && !open) {
      const last = climbs[climbs.length - 1];
      if (last && atMs - last.toMs < APART_MS) open = climbs.pop();
      else open = { fromMs: atMs, toMs: atMs };
    } else if (open && (over <= -LETS_GO_DC || over === NOT_COUNTED)) {
      climbs.push({ fromMs: open.fromMs, toMs: atMs });
      open = undefined;
    }
  }
  if (open) climbs.push({ fromMs: open.fromMs, toMs: ticks * TICK_MS });
  return climbs;
}

/** How a pick's first sprays stand to today's, over all climbs. */
export interface FirstSprays {
  readonly climbs: number;
  readonly earlier: number;
  readonly later: number;
  /** Climbs in which only the pick, or only today's settings, spray. */
  readonly only: number;
  readonly never: number;
  /** Medians over those climbs, ms. */
  readonly earlierMs: number;
  readonly laterMs: number;
}

/** A trace with its climbs and its two replays. */
export interface Both {
  readonly climbs: readonly Climb[];
  readonly pick: Run;
  readonly today: Run;
}

/** Compares first sprays climb by climb. */
export function compareFirstSprays(traces: readonly Both[]): FirstSprays {
  const earlier: number[] = [];
  const later: number[] = [];
  let [climbs, only, never] = [0, 0, 0];
  for (const { climbs: list, pick, today } of traces) {
    for (const climb of list) {
      climbs++;
      const [own, other] = [firstSpray(pick, climb), firstSpray(today, climb)];
      if (own !== undefined && other === undefined) only++;
      else if (own === undefined && other !== undefined) never++;
      else if (own !== undefined && other !== undefined) {
        if (own < other) earlier.push(other - own);
        if (own > other) later.push(own - other);
      }
    }
  }
  const counts = { climbs, earlier: earlier.length, later: later.length, only, never };
  return { ...counts, earlierMs: median(earlier), laterMs: median(later) };
}

function firstSpray({ sprays }: Run, { fromMs, toMs }: Climb): number | undefined {
  return sprays.find((spray) => spray.fromMs >= fromMs - LEAD_MS && spray.fromMs < toMs)?.fromMs;
}

function median(values: readonly number[]): number {
  if (values.length === 0) return 0;
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1];
}

/** The comparison in words, the most telling first; empty if nothing differs. */
export function sprayWords(first: FirstSprays): string[] {
  const of = `of ${first.climbs} ${first.climbs === 1 ? 'climb' : 'climbs'}`;
  const told: [number, string][] = [
    [first.earlier, `sprays ${seconds(first.earlierMs)} earlier in ${first.earlier} ${of}`],
    [first.later, `sprays ${seconds(first.laterMs)} later in ${first.later} ${of}`],
    [first.only, `sprays in ${first.only} ${of} in which today’s settings do not`],
    [first.never, `leaves out ${first.never} ${of} in which today’s settings spray`],
  ];
  return told
    .filter(([count]) => count > 0)
    .sort((a, b) => b[0] - a[0])
    .map(([, words]) => words);
}

/** A reason's time under less than this, or changed by less, says nothing. */
const TOLD_MS = 1000;
const REASONS_TOLD = 3;

/** The reasons whose time changed most, in words: "waits 40.2 s less because the charge was under tempOn". */
export function reasonWords(traces: readonly Pick<Both, 'pick' | 'today'>[]): string[] {
  const change = new Map<string, number>();
  const add = (run: Run, sign: number) => {
    for (const [id, held] of run.reasonSeconds) {
      change.set(id, (change.get(id) ?? 0) + sign * held * 1000);
    }
  };
  for (const { pick, today } of traces) {
    add(pick, 1);
    add(today, -1);
  }
  return [...change]
    .filter(([, ms]) => Math.abs(ms) >= TOLD_MS)
    .sort((a, b) => Math.abs(b[1]) - Math.abs(a[1]))
    .slice(0, REASONS_TOLD)
    .map(([id, ms]) => reasonClause(id, ms));
}

function reasonClause(id: string, ms: number): string {
  const { kind, because, subject } = wordsFor(id);
  const amount = `${seconds(Math.abs(ms))} ${ms > 0 ? 'longer' : 'less'}`;
  if (kind === 'spray') return `sprays ${amount}`;
  if (kind === 'cutoff') return `is stopped ${amount} by ${subject ?? id}`;
  if (kind === 'rest') return `pauses ${amount} because ${because}`;
  return `waits ${amount} because ${because}`;
}
