/**
 * The table of cutoffs as small watchers of a running core, one row a watcher, written from the
 * contract's table and not from the core: a cause has a condition on the readings, a debounce, a
 * condition of letting go and its time. A watcher throws where the core breaks its row. Times are
 * ms, readings in the core's units. "One tick" is the time that really passed.
 */
import { LevelKind } from '../../controller/calibration.js';
import { LIMITS } from '../../controller/limits.js';
import { Input, INPUTS } from '../../controller/readings.js';
import type { Readings } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import { insist } from './trace-arbitrary.js';
import type { Outing, Seen, Watcher } from './trace-arbitrary.js';

const AUTOMATIC = 1;
const MANUAL = 2;
const ALL = AUTOMATIC | MANUAL;

/** Bits of the table's rows, and which kinds of spray each row stops. */
const STOPS: readonly (readonly [id: string, kinds: number])[] = [
  ['disarmed', ALL],
  ['engine-stopped', ALL],
  ['sensor-lost', AUTOMATIC],
  ['late-input', ALL],
  ['freezing', ALL],
  ['too-cool', AUTOMATIC],
  ['burst-length', ALL],
  ['duty', ALL],
  ['standstill', AUTOMATIC],
  ['reserve', AUTOMATIC],
  ['tank-empty', ALL],
  ['supply', ALL],
  ['pump-circuit', ALL],
  ['button-stuck', MANUAL],
  ['not-allowed', 0],
  ['bad-settings', ALL],
  ['unexpected-reset', ALL],
  ['late-tick', ALL],
  ['core-fault', ALL],
];

/** Bits of the rows by id. */
export const BITS: ReadonlyMap<string, number> = new Map(
  STOPS.map(([id], index) => [id, 1 << index]),
);

function bitOf(id: string): number {
  return BITS.get(id) ?? 0;
}

/** How long a condition has held without a break, up to this tick. */
class Held {
  private sinceMs = Infinity;

  see(holds: boolean, nowMs: number): number {
    if (!holds) this.sinceMs = Infinity;
    else if (this.sinceMs === Infinity) this.sinceMs = nowMs;
    return holds ? nowMs - this.sinceMs : -1;
  }
}

/** A judgement of the readings by the contract's table of inputs, kept apart from the core's. */
export class Trust {
  private readonly freshAt = INPUTS.map(() => -Infinity);
  private lostSince = Infinity;
  private readonly bad = INPUTS.map(() => false);
  private readonly late = INPUTS.map(() => false);
  /** The button as its debounce of 40 ms shows it. */
  isPressed = false;
  private isFirst = true;
  private readonly turning = new Held();

  constructor(private readonly outing: Outing) {}

  see(readings: Readings, nowMs: number): void {
    const s = this.outing.settings;
    const isBoostLost = readings.rpm === 0 && readings.boostHpa > 500;
    if (!isBoostLost) this.lostSince = Infinity;
    else if (this.lostSince === Infinity) this.lostSince = nowMs;
    for (let index = 0; index < INPUTS.length; index++) {
      if ((readings.fresh & (1 << index)) !== 0) this.freshAt[index] = nowMs;
      this.late[index] = nowMs - this.freshAt[index] >= s.lateAfterMs;
      const hasFault = ((readings.faults >> (3 * index)) & 7) !== 0;
      const isOut = isOutOfBand(readings, index, s, this.outing.levelKind);
      this.bad[index] = hasFault || isOut || this.late[index];
    }
    if (nowMs - this.lostSince >= 2000) this.bad[0] = true;
    const isClosed = readings.button === 1;
    if (this.isFirst) this.isPressed = isClosed;
    this.isFirst = false;
    const turnedMs = this.turning.see(isClosed !== this.isPressed, nowMs);
    if (turnedMs < 40) return;
    this.isPressed = isClosed;
    this.turning.see(false, nowMs);
  }

  isFitted(input: number): boolean {
    return ((this.outing.fitted | Input.Rpm | Input.Boost | Input.Charge) & input) !== 0;
  }

  isBad(input: number): boolean {
    return this.isFitted(input) && this.bad[31 - Math.clz32(input)];
  }

  isLate(input: number): boolean {
    return this.isFitted(input) && this.late[31 - Math.clz32(input)];
  }
}

/** Bands of the contract: rpm 0..15,000 and rpmMax, boost -1,000..5,000 hPa, -40..200 degC, 0..40 V. */
function isOutOfBand(readings: Readings, index: number, s: Settings, kind: LevelKind): boolean {
  const outside = (value: number, min: number, max: number): boolean => value < min || value > max;
  switch (INPUTS[index]) {
    case 'rpm':
      return outside(readings.rpm, 0, Math.min(15000, s.rpmMaxRpm));
    case 'boost':
      return outside(readings.boostHpa, -1000, 5000);
    case 'charge':
      return outside(readings.chargeDc, -400, 2000);
    case 'ambient':
      return outside(readings.ambientDc, -400, 2000);
    case 'supply':
      return outside(readings.supplyMv, 0, 40000);
    // The contract names no band for the rest; these are a share, a speed and a tank.
    case 'humidity':
      return outside(readings.humidityPm, 0, 1000);
    case 'speed':
      return outside(readings.speedDkmh, 0, LIMITS.speedDkmhMax);
    case 'level':
      return outside(readings.level, 0, kind === LevelKind.Gauge ? LIMITS.levelUlMax : 1);
    default:
      return false;
  }
}

interface Cause {
  readonly isOn: (readings: Readings, trust: Trust) => boolean;
  readonly debounceMs: number;
  /** Absent: the opposite of `isOn`. */
  readonly isClear?: (readings: Readings, trust: Trust) => boolean;
  readonly letGoMs: number;
  /** False if it is not taken to have stood before the very first tick. */
  readonly atStart?: boolean;
}

/** One cause followed by the table's words: in force after its debounce, until it lets go. */
class Followed {
  private readonly on = new Held();
  private readonly clear = new Held();
  private inForce = false;

  constructor(private readonly cause: Cause) {}

  see(seen: Seen, trust: Trust): boolean {
    const { readings, drivenMs } = seen;
    const isOn = this.cause.isOn(readings, trust);
    const isClear = this.cause.isClear ? this.cause.isClear(readings, trust) : !isOn;
    const onMs = this.on.see(isOn, drivenMs);
    const clearMs = this.clear.see(isClear, drivenMs);
    // What is found at the very first tick is taken to have stood before it.
    const stood = isOn && seen.index === 0 && this.cause.atStart !== false;
    if (onMs >= this.cause.debounceMs || stood) this.inForce = true;
    else if (this.inForce && clearMs >= this.cause.letGoMs) this.inForce = false;
    return this.inForce;
  }
}

/** Rows whose causes depend on readings alone. */
function readingRows(outing: Outing): ReadonlyMap<string, readonly Cause[]> {
  const s = outing.settings;
  const isRpmLow = (r: Readings): boolean => r.rpm < s.runRpm;
  const isRpmBad = (t: Trust): boolean => t.isBad(Input.Rpm);
  const needed = [
    Input.Rpm,
    Input.Boost,
    Input.Charge,
    Input.Ambient,
    Input.Supply,
    Input.Feedback,
  ];
  const rows = new Map<string, readonly Cause[]>();
  rows.set('disarmed', [{ isOn: (r) => r.arm !== 1, debounceMs: 40, letGoMs: 40 }]);
  const runs = (r: Readings, t: Trust): boolean => !isRpmLow(r) && !isRpmBad(t);
  rows.set('engine-stopped', [
    { isOn: (r, t) => isRpmLow(r) || isRpmBad(t), debounceMs: 500, isClear: runs, letGoMs: 1000 },
    { isOn: (_, t) => isRpmBad(t), debounceMs: 200, isClear: runs, letGoMs: 1000 },
  ]);
  const isLost = (t: Trust): boolean => t.isBad(Input.Boost) || t.isBad(Input.Charge);
  rows.set('sensor-lost', [{ isOn: (_, t) => isLost(t), debounceMs: 200, letGoMs: 2000 }]);
  rows.set('late-input', [
    { isOn: (_, t) => needed.some((input) => t.isLate(input)), debounceMs: 0, letGoMs: 1000 },
  ]);
  rows.set('freezing', frostCauses(outing));
  rows.set('too-cool', [
    {
      isOn: (r, t) => r.chargeDc < s.floorDc || t.isBad(Input.Charge),
      debounceMs: 0,
      isClear: (r, t) => r.chargeDc >= s.floorDc + 20 && !t.isBad(Input.Charge),
      letGoMs: 0,
    },
  ]);
  rows.set('button-stuck', [
    { isOn: (_, t) => t.isPressed, debounceMs: 10000, letGoMs: 1000, atStart: false },
  ]);
  return rows;
}

/** Outings are shorter than 10 min: the lowest ambient is the lowest so far. */
function frostCauses(outing: Outing): readonly Cause[] {
  const s = outing.settings;
  const input = (outing.fitted & Input.Ambient) !== 0 ? Input.Ambient : Input.Charge;
  let lowestDc = Infinity;
  const look = (r: Readings, t: Trust): number => {
    const nowDc = input === Input.Ambient ? r.ambientDc : r.chargeDc;
    if (input === Input.Charge) return nowDc;
    if (!t.isBad(input)) lowestDc = Math.min(lowestDc, nowDc);
    return lowestDc;
  };
  const isClear = (r: Readings, t: Trust): boolean =>
    !t.isBad(input) && look(r, t) >= s.freezeDc + 10;
  return [
    { isOn: (r, t) => look(r, t) < s.freezeDc, debounceMs: 1000, isClear, letGoMs: 0 },
    { isOn: (_, t) => t.isBad(input), debounceMs: 200, isClear, letGoMs: 0 },
  ];
}

/** Watches every row that depends on readings alone: in force when it must be, and only then. */
export function watchReadingRows(outing: Outing): Watcher {
  const trust = new Trust(outing);
  const rows = [...readingRows(outing)].map(([id, causes]) => ({
    id,
    bit: bitOf(id),
    causes: causes.map((cause) => new Followed(cause)),
    was: false,
  }));
  const isExact = outing.pace === 'exact';
  return (seen) => {
    trust.see(seen.readings, seen.drivenMs);
    const active = seen.core.state.cutoffs.active;
    for (const row of rows) {
      let must = false;
      for (const cause of row.causes) if (cause.see(seen, trust)) must = true;
      const is = (active & row.bit) !== 0;
      if (must) insist(is, seen, row.id + ' must be in force');
      const mayBe = must || (row.was && !isExact);
      if (is && !mayBe) insist(false, seen, row.id + ' is in force without a cause');
      row.was = is;
    }
  };
}

/** No spray, in any tick, of a kind that a cutoff in force stops; enable is open under "all". */
export function watchStops(outing: Outing): Watcher {
  const s = outing.settings;
  const stopsAll = STOPS.reduce((sum, row, bit) => (row[1] === ALL ? sum | (1 << bit) : sum), 0);
  const stopsOf = (kind: number): number => {
    let bits = STOPS.reduce((sum, row, bit) => ((row[1] & kind) !== 0 ? sum | (1 << bit) : sum), 0);
    if (kind === MANUAL && s.manualFromReserve === 0) bits |= bitOf('reserve');
    return bits;
  };
  const automatic = stopsOf(AUTOMATIC);
  const manual = stopsOf(MANUAL);
  return (seen) => {
    const { output, cutoffs } = seen.core.state;
    const stopped = (cutoffs.active & stopsAll) !== 0;
    insist(
      output.enable === (stopped ? 0 : 1),
      seen,
      'enable is closed unless something stops all',
    );
    if (output.pump === 0) {
      insist(output.reason > 3, seen, 'no spray is reported while the pump is off');
      return;
    }
    insist(output.reason <= 2, seen, 'a spray is reported while the pump is on');
    const isManual = output.reason === 1;
    const kindStops = isManual ? manual : automatic;
    insist((cutoffs.active & kindStops) === 0, seen, 'it sprays against a cutoff in force');
    const isAllowed = isManual ? s.manualAllowed : s.automaticAllowed;
    insist(isAllowed === 1, seen, 'not-allowed: it sprays what the event forbids');
  };
}

/** Rows 9 and 10: the estimate as the last tick left it, in the very tick; and the level. */
export function watchTankRows(outing: Outing): Watcher {
  const s = outing.settings;
  const trust = new Trust(outing);
  const lowUl = outing.levelKind === LevelKind.Gauge ? LIMITS.levelLowUl : 0;
  const level = new Followed({
    isOn: (r, t) => t.isFitted(Input.Level) && (r.level <= lowUl || t.isBad(Input.Level)),
    debounceMs: s.levelAfterMs,
    letGoMs: 10000,
  });
  let tankUl = outing.tankUl;
  let wasPump = 0;
  let wasEmpty = false;
  return (seen) => {
    trust.see(seen.readings, seen.drivenMs);
    const active = seen.core.state.cutoffs.active;
    // What a running spray has taken beyond 20 ms is charged before the tick decides.
    const beyondMs = Math.min(100, seen.elapsedMs) - 20;
    const takenUl = wasPump === 1 && beyondMs > 0 ? Math.ceil((s.flowUlps * beyondMs) / 1000) : 0;
    wasPump = seen.core.state.output.pump;
    const isReserve = (active & bitOf('reserve')) !== 0;
    if (tankUl <= s.reserveUl) insist(isReserve, seen, 'reserve must be in force');
    if (isReserve) insist(tankUl - takenUl <= s.reserveUl, seen, 'reserve is in force too early');
    const must = level.see(seen, trust) || tankUl <= 0;
    const is = (active & bitOf('tank-empty')) !== 0;
    if (must) insist(is, seen, 'tank-empty must be in force');
    const mayBe = must || tankUl - takenUl <= 0 || (wasEmpty && outing.pace !== 'exact');
    if (is) insist(mayBe, seen, 'tank-empty is in force without a cause');
    wasEmpty = is;
    tankUl = seen.core.state.account.tankUl;
  };
}

/** Disarmed for 2 s clears a latch, up to the tick in which it is let go; opened means debounced. */
function watchDisarmed(): (seen: Seen) => boolean {
  const held = new Held();
  let was = false;
  return (seen) => {
    const is = (seen.core.state.cutoffs.active & bitOf('disarmed')) !== 0;
    const heldMs = held.see(is || was, seen.drivenMs);
    was = is;
    return heldMs >= 2000;
  };
}

/** Row 11: supply, and its latch after three times in 60 s while spraying. */
export function watchSupplyRow(outing: Outing): Watcher {
  const s = outing.settings;
  const trust = new Trust(outing);
  const isOff = (r: Readings, byMv: number): boolean =>
    r.supplyMv < s.supplyLowMv + byMv || r.supplyMv > s.supplyHighMv - byMv;
  const supply = new Followed({
    isOn: (r, t) => t.isFitted(Input.Supply) && (isOff(r, 0) || t.isBad(Input.Supply)),
    debounceMs: 200,
    isClear: (r, t) => !isOff(r, 500) && !t.isBad(Input.Supply),
    letGoMs: 2000,
  });
  const isCleared = watchDisarmed();
  const trips: number[] = [];
  let isLatched = false;
  let wasOn = false;
  let was = false;
  let wasPump = 0;
  return (seen) => {
    trust.see(seen.readings, seen.drivenMs);
    const is = (seen.core.state.cutoffs.active & bitOf('supply')) !== 0;
    const must = supply.see(seen, trust);
    if (must && !wasOn && wasPump === 1) {
      trips.push(seen.drivenMs);
      const third = trips[trips.length - 3];
      if (third !== undefined && seen.drivenMs - third <= 60000) isLatched = true;
    }
    if (isCleared(seen)) isLatched = false;
    if (must || isLatched) insist(is, seen, 'supply must be in force');
    else if (is) insist(was, seen, 'supply is in force without a cause');
    wasOn = must;
    was = is;
    wasPump = seen.core.state.output.pump;
  };
}

/** Row 12: outputs unchanged for 100 ms, then feedback against them for 150 ms: latched. */
export function watchCircuitRow(outing: Outing): Watcher {
  const apart = new Held();
  let changedAtMs = 0;
  let outputs = 0;
  let stuckOn = false;
  let latched = false;
  const isCleared = watchDisarmed();
  return (seen) => {
    const { output, cutoffs } = seen.core.state;
    if ((outing.fitted & Input.Feedback) === 0) return;
    const isBlank = seen.drivenMs - changedAtMs < 100 || seen.elapsedMs > 100;
    const expected = seen.core.calibration.feedbackExpected[outputs];
    const apartMs = apart.see(!isBlank && seen.readings.feedback !== expected, seen.drivenMs);
    if (apartMs >= 150 && seen.index > 0) {
      latched = true;
      if ((outputs & 2) === 0) stuckOn = true;
    }
    if (isCleared(seen)) latched = false;
    const is = (cutoffs.active & bitOf('pump-circuit')) !== 0;
    if (latched || stuckOn) insist(is, seen, 'pump-circuit must be in force, latched');
    const next = output.enable + 2 * output.pump;
    if (next !== outputs) {
      changedAtMs = seen.drivenMs;
      apart.see(false, seen.drivenMs);
    }
    outputs = next;
  };
}

/** Rows 15, 17 and 18: a late tick stops all in its own tick; ten in 10 s, and failures, latch. */
export function watchCoreRows(outing: Outing): Watcher {
  const late: number[] = [];
  let stalled = 0;
  let isLatched = false;
  const isCleared = watchDisarmed();
  const total = outing.phases.reduce((sum, phase) => sum + phase.lengthMs, 0);
  const firstOf = (kind: string): number =>
    Math.min(
      ...outing.troubles
        .filter((trouble) => trouble.kind === kind)
        .map((trouble) => Math.floor((total * trouble.at) / 1000)),
    );
  const condemnedMs = firstOf('condemned');
  const failedMs = firstOf('failed');
  return (seen) => {
    const active = seen.core.state.cutoffs.active;
    // A clock that stands still for three ticks is as broken as one that leaps: the core's own rule.
    stalled = seen.elapsedMs === 0 && seen.index > 0 ? stalled + 1 : 0;
    const isLate = seen.elapsedMs > 60 || stalled >= 3;
    if (isLate && seen.readings.maintenance !== 1) {
      late.push(seen.drivenMs);
      const tenth = late[late.length - 10];
      if (tenth !== undefined && seen.drivenMs - tenth <= 10000) isLatched = true;
    }
    if (isCleared(seen)) isLatched = false;
    const is = (active & bitOf('late-tick')) !== 0;
    if (is !== (isLate || isLatched)) {
      insist(false, seen, `late-tick is ${is ? 'in force without a cause' : 'not in force'}`);
    }
    const isBad = (active & bitOf('bad-settings')) !== 0;
    insist(isBad === seen.drivenMs >= condemnedMs, seen, 'bad-settings is in force once condemned');
    const isFault = (active & bitOf('core-fault')) !== 0;
    insist(isFault === seen.drivenMs >= failedMs, seen, 'core-fault is in force once it failed');
  };
}

/** Whether the car is kept to the standstill limits: stood 3 s, not yet moved for 10 s. */
export class Standstill {
  private readonly slow = new Held();
  private readonly moved = new Held();
  private countedMs = 0;
  isKept = false;
  isUnknown = false;

  see(seen: Seen, trust: Trust): void {
    const hasSpeed = trust.isFitted(Input.Speed);
    const { readings } = seen;
    // At most 100 ms of a tick count: a pause of the core shows neither standing nor moving.
    this.countedMs += Math.min(100, seen.elapsedMs);
    const isUnknown = trust.isBad(hasSpeed ? Input.Speed : Input.Rpm);
    const isSlow = isUnknown || (hasSpeed ? readings.speedDkmh < 50 : readings.rpm < 1500);
    const slowMs = this.slow.see(isSlow, this.countedMs);
    const movedMs = this.moved.see(!isSlow, this.countedMs);
    if (isUnknown && hasSpeed) this.isUnknown = true;
    if (slowMs >= 3000) this.isKept = true;
    if (movedMs < 10000) return;
    this.isKept = false;
    this.isUnknown = false;
  }
}

/** Row 8: from standstill until moved for 10 s, both limits; an unhealthy speed counts as active. */
export function watchStandstillRow(outing: Outing): Watcher {
  const s = outing.settings;
  const trust = new Trust(outing);
  const standstill = new Standstill();
  let usedMs = 0;
  let wasSpray = false;
  let wasKept = false;
  return (seen) => {
    const { output, cutoffs } = seen.core.state;
    trust.see(seen.readings, seen.drivenMs);
    standstill.see(seen, trust);
    const isActive = (cutoffs.active & bitOf('standstill')) !== 0;
    if (standstill.isUnknown) insist(isActive, seen, 'standstill holds until moved for 10 s');
    // Spray of the last tick counts if the car was already kept to the limits then.
    if (!standstill.isKept) usedMs = 0;
    else if (wasSpray && wasKept) {
      const tickMs = Math.min(100, seen.elapsedMs);
      usedMs += tickMs;
      const isKept = usedMs <= s.standstillMaxMs + Math.max(20, tickMs);
      insist(isKept, seen, `standstillMax: ${String(usedMs)} ms of automatic spray since it stood`);
    }
    wasKept = standstill.isKept;
    wasSpray = output.pump === 1 && output.reason !== 1;
    if (standstill.isKept && usedMs >= s.standstillMaxMs) {
      insist(isActive && !wasSpray, seen, 'standstill is in force once standstillMax is used up');
    }
  };
}

/** All rows but those of the account's window and pieces, which have watchers of their own. */
export function watchCutoffs(outing: Outing): Watcher[] {
  return [
    watchReadingRows(outing),
    watchStops(outing),
    watchTankRows(outing),
    watchSupplyRow(outing),
    watchCircuitRow(outing),
    watchCoreRows(outing),
    watchStandstillRow(outing),
  ];
}
