/**
 * The normal form of a core's and a monitor's state: times become ages, and an age past every limit is
 * all the same, so that two states that will decide alike are one. What has no end in sight (the duty
 * window, water, the memory of frost) is taken back to its start.
 */
import type { Core } from '../../controller/core.js';
import { STATE_FIELDS } from '../../controller/core.js';
import { COUNTED, NOW, RAW, TICKS, type SlotKind } from './code.js';
import { SCALED_LIMITS } from './scaled.js';

/** The clock of every normal form, ms. */
export const BASE_MS = 1 << 20;
/** Longer than every scaled limit, spray, and the rest that good conditions have, which are hot. */
const AGE_MS_MAX = 640;
type Lists = Record<string, number | number[]>;

/** Times become ages, up to the longest that matters. */
function aged(timeMs: number, nowMs: number): number {
  const ageMs = (nowMs - timeMs) & 0x3fffffff;
  return BASE_MS - Math.min(ageMs, AGE_MS_MAX);
}

/** Brings a core's state to its normal form, with a full tank; its seal is the caller's. */
export function normaliseCore(core: Core, tankUl: number): void {
  const { clock, health, demand, cutoffs, output, account, events, self, burst } = core.state;
  const now = clock.nowMs;
  for (const [group] of STATE_FIELDS) {
    const record = core.state[group] as unknown as Lists;
    for (const name of Object.keys(record)) {
      if (!/(Since|At|Fresh)Ms$/u.test(name)) continue;
      const value = record[name];
      if (typeof value === 'number') record[name] = aged(value, now);
      else for (let at = 0; at < value.length; at++) value[at] = aged(value[at], now);
    }
  }
  clock.nowMs = BASE_MS;
  if (health.losing === 0) health.losingSinceMs = BASE_MS;
  if (health.stageMoving === 0) health.stageMovingSinceMs = BASE_MS;
  if (health.buttonMoving === 0) health.buttonMovingSinceMs = BASE_MS;
  health.pressedAtMs = BASE_MS;
  if (demand.missing === 0) demand.missingSinceMs = BASE_MS;
  demand.expectedDc = 0;
  for (let at = 0; at < cutoffs.pendingSinceMs.length; at++) {
    if ((cutoffs.pending & (1 << at)) === 0) cutoffs.pendingSinceMs[at] = BASE_MS;
  }
  if ((cutoffs.causes & 1) === 0) cutoffs.disarmedSinceMs = BASE_MS;
  if (cutoffs.armOpen === 0) cutoffs.armOpenSinceMs = BASE_MS;
  cutoffs.frostMs = 0;
  cutoffs.steadyMs = Math.min(cutoffs.steadyMs, AGE_MS_MAX);
  normaliseTrips(cutoffs);
  output.confirmsSinceMs = BASE_MS;
  account.tankUl = tankUl;
  account.owedUlms = 0;
  account.windowMs = 0;
  account.slotsMs.fill(0);
  account.slotIndex = 0;
  account.slotAgeMs = 0;
  account.lastPieceMs = 0;
  account.restedMs = Math.min(account.restedMs, AGE_MS_MAX);
  account.standstillMs = Math.min(account.standstillMs, AGE_MS_MAX);
  account.refilling = 0;
  for (const list of [events.ids, events.details, events.timesMs]) list.fill(0);
  Object.assign(events, { total: 0 });
  Object.assign(self, { ruleIndex: 0, ruleWait: 0 });
  burst.stageLeftMs = 0;
}

/** Of the supply's trips only those count that are within its window; they move to the front. */
function normaliseTrips(cutoffs: Core['state']['cutoffs']): void {
  const { trippedAtMs } = cutoffs;
  const kept: number[] = [];
  for (let back = Math.min(2, cutoffs.tripCount); back >= 1; back--) {
    const timeMs = trippedAtMs[(cutoffs.tripCount - back) & 15];
    if (BASE_MS - timeMs <= SCALED_LIMITS.supplyLatchWindowMs) kept.push(timeMs);
  }
  trippedAtMs.fill(BASE_MS);
  kept.forEach((timeMs, index) => (trippedAtMs[index] = timeMs));
  cutoffs.tripCount = kept.length;
  cutoffs.lateAtMs.fill(BASE_MS);
}

/** Brings the words of a monitor to their normal form. */
export function normaliseMonitor(words: Int32Array, kinds: readonly SlotKind[]): void {
  const now = words[NOW];
  const counted = words[COUNTED];
  for (let at = 0; at < words.length; at++) {
    const value = words[at];
    switch (kinds[at]) {
      case 'real':
        if (value >= 0) words[at] = BASE_MS - Math.min(now - value, AGE_MS_MAX);
        break;
      case 'counted':
        if (value >= 0) words[at] = BASE_MS - Math.min(counted - value, AGE_MS_MAX);
        break;
      case 'sum':
        words[at] = Math.min(value, AGE_MS_MAX);
        break;
      case 'queue':
      case 'head':
        words[at] = 0;
        break;
      default:
    }
  }
  words[NOW] = BASE_MS;
  words[COUNTED] = BASE_MS;
  words[RAW] = BASE_MS;
  words[TICKS] = 1;
}
