/**
 * Watchers of what is sprayed: the duty window, the length of pieces and rests, the reserve, the
 * hysteresis of the demand. Written from the contract's properties 2 to 5; they look at the pump,
 * its reason and the estimate as a tick record shows them. "One tick" is the time that really
 * passed, at most 100 ms. Times are ms.
 */
import { Input } from '../../controller/readings.js';
import type { Readings } from '../../controller/readings.js';
import { BITS, Trust } from './cutoff-watchers.js';
import { insist } from './trace-arbitrary.js';
import type { Outing, Seen, Watcher } from './trace-arbitrary.js';

const MANUAL = 1;

/** What "one tick" allows: the time that really passed, at least the nominal 20 ms, at most 100. */
function tickOf(seen: Seen): number {
  return Math.min(100, Math.max(20, seen.elapsedMs));
}

/** Property 2: in any window of dutyWindow, whatever ms it begins at. */
export function watchDuty(outing: Outing): Watcher {
  const s = outing.settings;
  const limitMs = (s.dutyPm * s.dutyWindowMs) / 1000;
  const from: number[] = [];
  const to: number[] = [];
  let oldest = 0;
  let sumMs = 0;
  let wasPump = 0;
  let lastMs = 0;
  return (seen) => {
    if (wasPump === 1) {
      const endMs = Math.min(seen.drivenMs, lastMs + 100);
      from.push(lastMs);
      to.push(endMs);
      sumMs += endMs - lastMs;
      // The sum is greatest when the window ends with a spray.
      const startMs = endMs - s.dutyWindowMs;
      while (to[oldest] <= startMs) {
        sumMs -= to[oldest] - from[oldest];
        oldest++;
      }
      const cutMs = Math.max(0, startMs - from[oldest]);
      insist(
        sumMs - cutMs <= limitMs + tickOf(seen),
        seen,
        `duty: ${String(sumMs - cutMs)} ms of spray in the window, limit ${String(limitMs)}`,
      );
    }
    wasPump = seen.core.state.output.pump;
    lastMs = seen.drivenMs;
  };
}

/** Property 3: pieces are not longer than their limit, not shorter than minSpray, and apart. */
export function watchPieces(outing: Outing): Watcher {
  const s = outing.settings;
  let wasPump = 0;
  let kind = 0;
  let beganMs = 0;
  let endedMs = -Infinity;
  let stageOpenMs = -Infinity;
  let wasStage = 1;
  // A burst by the button is no shorter than minSpray either.
  const manualMs = Math.max(s.manualMs, s.minSprayMs);
  const always = ~(BITS.get('not-allowed') ?? 0);
  return (seen) => {
    const { output, cutoffs } = seen.core.state;
    const nowMs = seen.drivenMs;
    if (seen.readings.stage !== wasStage) stageOpenMs = nowMs;
    wasStage = seen.readings.stage;
    if (output.pump === 1 && wasPump === 0) {
      insist(nowMs - endedMs >= s.minRestMs, seen, `minRest: ${String(nowMs - endedMs)} ms`);
      beganMs = nowMs;
      kind = output.reason;
    }
    if (output.pump === 1) insist(output.reason === kind, seen, 'a piece keeps its kind');
    if (wasPump === 1) {
      const pieceMs = Math.min(nowMs - beganMs, nowMs - beganMs - seen.elapsedMs + 100);
      const mostMs = Math.min(s.maxBurstMs, kind === MANUAL ? manualMs : s.burstMs);
      insist(pieceMs < mostMs + tickOf(seen), seen, `a piece of ${String(pieceMs)} ms`);
    }
    if (output.pump === 0 && wasPump === 1) {
      endedMs = nowMs;
      const isStageOpen = seen.readings.stage === 0 && nowMs - stageOpenMs >= 40;
      const isCut = (cutoffs.active & always) !== 0 || isStageOpen;
      if (!isCut) {
        insist(nowMs - beganMs >= s.minSprayMs, seen, `minSpray: ${String(nowMs - beganMs)} ms`);
      }
    }
    wasPump = output.pump;
  };
}

/** Property 4: automatic spray never takes the estimate under the reserve by over a tick's flow. */
export function watchReserve(outing: Outing): Watcher {
  const s = outing.settings;
  let wasAutomatic = false;
  return (seen) => {
    const { output, account } = seen.core.state;
    const isAutomatic = output.pump === 1 && output.reason !== MANUAL;
    if (isAutomatic || wasAutomatic) {
      const flowUl = Math.ceil((s.flowUlps * tickOf(seen)) / 1000);
      const isKept = account.tankUl >= s.reserveUl - flowUl;
      insist(isKept, seen, `reserve: the estimate is ${String(account.tankUl)} ul`);
    }
    wasAutomatic = isAutomatic;
  };
}

/** One threshold with its band: met from the upper edge on until under the lower edge. */
class Band {
  isMet = false;

  constructor(
    private readonly on: number,
    private readonly off: number,
  ) {}

  see(value: number, isBad: boolean): void {
    if (isBad || value < this.off) this.isMet = false;
    else if (value >= this.on) this.isMet = true;
  }
}

/**
 * Property 5: demand begins when all three inputs have come up through their whole bands, and ends
 * when one has fallen through its whole band and has been missing for demandHold. With lookAhead
 * the expected charge, which the state shows, takes the place of the reading.
 */
export function watchHysteresis(outing: Outing): Watcher {
  const s = outing.settings;
  const trust = new Trust(outing);
  const charge = new Band(s.tempOnDc, s.tempOnDc - s.tempHysteresisDc);
  const rpm = new Band(s.rpmOnRpm, s.rpmOnRpm - s.rpmHysteresisRpm);
  const boost = new Band(s.boostOnHpa, s.boostOnHpa - s.boostHysteresisHpa);
  let missingSinceMs = Infinity;
  let was = 0;
  return (seen) => {
    const wish = seen.core.state.demand;
    const readings: Readings = seen.readings;
    trust.see(readings, seen.drivenMs);
    const chargeDc = s.lookAheadMs === 0 ? readings.chargeDc : wish.expectedDc;
    charge.see(chargeDc, trust.isBad(Input.Charge));
    rpm.see(readings.rpm, trust.isBad(Input.Rpm));
    boost.see(readings.boostHpa, trust.isBad(Input.Boost));
    const isAll = charge.isMet && rpm.isMet && boost.isMet;
    if (isAll) missingSinceMs = Infinity;
    else if (missingSinceMs === Infinity) missingSinceMs = seen.drivenMs;
    const isOver = seen.drivenMs - missingSinceMs >= s.demandHoldMs;
    const is = wish.demand;
    if (isAll) insist(is === 1, seen, 'all three thresholds are met: demand');
    if (is === 1 && was === 0) insist(isAll, seen, 'demand began within a hysteresis band');
    if (is === 0 && was === 1) insist(isOver, seen, 'demand ended before demandHold');
    if (is === 1) insist(!isOver, seen, 'demand outlived demandHold');
    was = is;
  };
}

/** All watchers of this file. */
export function watchSpray(outing: Outing): Watcher[] {
  return [watchDuty(outing), watchPieces(outing), watchReserve(outing), watchHysteresis(outing)];
}
