/**
 * Runs of a run log: segments that follow one another without a gap, from a boot or from the oldest that is
 * left. What each holds is summed up from the recorded codes and decisions alone; whether the host decides
 * the same is replay.ts. Times are seconds, water microlitres.
 */
import { LIMITS } from '../../controller/limits.js';
import { Fault } from '../fault.js';
import type { RecordedEvent, RunLog, Segment } from './log.js';

const CUTOFF_SHIFT = 11;
const ENGINE_STOPPED = 1 << (CUTOFF_SHIFT + 1);
const PUMP = 1;
const REASON_SHIFT = 5;

/** Segments without a gap between them. */
export interface RecordedRun {
  /** 1 is the latest. */
  readonly number: number;
  readonly segments: readonly Segment[];
  readonly ticks: number;
}

export interface RunSummary {
  readonly number: number;
  /** True if it is recorded from its boot on. */
  readonly fromBoot: boolean;
  readonly ticks: number;
  readonly seconds: number;
  /** With the engine running, by the cutoff engine-stopped. */
  readonly engineSeconds: number;
  readonly sprays: number;
  readonly spraySeconds: number;
  readonly events: readonly RecordedEvent[];
  readonly settingsSequence: number;
}

/** The runs of a log, the latest first. */
export function runsOf({ segments }: RunLog): RecordedRun[] {
  const groups: Segment[][] = [];
  for (const segment of segments) {
    const group = groups.at(-1);
    const before = group?.at(-1);
    if (group && before && follows(before, segment)) group.push(segment);
    else groups.push([segment]);
  }
  return groups.reverse().map((group, index) => ({
    number: index + 1,
    segments: group,
    ticks: group.reduce((sum, { ticks }) => sum + ticks, 0),
  }));
}

function follows(before: Segment, segment: Segment): boolean {
  const { begin } = segment;
  return !begin.isBoot && begin.tick === before.begin.tick + before.ticks;
}

/** What a run holds. */
export function summaryOf({ number, segments, ticks }: RecordedRun): RunSummary {
  const events: RecordedEvent[] = [];
  let engineTicks = 0;
  let pumpTicks = 0;
  let sprays = 0;
  let isSpraying = false;
  for (const segment of segments) {
    segment.visit({
      tick: (_tick, _codes, word) => {
        if ((word & ENGINE_STOPPED) === 0) engineTicks++;
        const isOn = (word & PUMP) !== 0;
        if (isOn) pumpTicks++;
        if (isOn && !isSpraying) sprays++;
        isSpraying = isOn;
      },
      event: (event) => events.push(event),
    });
  }
  const { begin } = segments[0];
  return {
    number,
    fromBoot: begin.isBoot,
    ticks,
    seconds: secondsOf(ticks),
    engineSeconds: secondsOf(engineTicks),
    sprays,
    spraySeconds: secondsOf(pumpTicks),
    events,
    settingsSequence: begin.settingsSequence,
  };
}

/** Seconds of so many ticks. */
export function secondsOf(ticks: number): number {
  return (ticks * LIMITS.tickMs) / 1000;
}

/** The reason in a word of a tick. */
export function reasonOf(word: number): number {
  return (word >> REASON_SHIFT) & 31;
}

/** The run of that number, or the latest in which the engine ran, or the latest. Throws E-RECORD-01. */
export function chooseRun(runs: readonly RecordedRun[], wanted: number | undefined): RecordedRun {
  if (runs.length === 0) throw new Fault('E-RECORD-01', 'nothing is recorded yet');
  if (wanted === undefined) {
    return runs.find((run) => summaryOf(run).engineSeconds > 0) ?? runs[0];
  }
  const run = runs.find(({ number }) => number === wanted);
  if (run) return run;
  const there = runs.length === 1 ? 'there is only run 1' : `there are runs 1 to ${runs.length}`;
  throw new Fault('E-RECORD-01', `there is no run ${wanted}; ${there}`);
}
