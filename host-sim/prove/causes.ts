/**
 * The causes of the cutoffs, from the contract's table: each with the condition that begins it, its
 * debounce, the condition that ends it and its let-go time. From these two formulas are made: `must`
 * (the cutoff has to be in force) and `may` (it has a cause to be). They are the same wherever the
 * contract fixes the tick; where it counts conservatively (windows of slots), `may` is wider.
 */
import { LevelKind } from '../../controller/calibration.js';
import type { InputName } from '../../controller/readings.js';
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import {
  and,
  atLeast,
  before,
  bit,
  constant,
  ELAPSED,
  equal,
  falls,
  FIRST,
  held,
  less,
  lowest,
  not,
  once,
  or,
  prev,
  recurs,
  rises,
  since,
  spent,
  total,
  TRUE,
  within,
  type Formula,
  type Num,
} from './formula.js';
import type { Car, Trust } from './trust.js';

/** Which kinds of spray a cutoff stops. */
export type Stops = 'all' | 'automatic' | 'manual';

export interface Cause {
  readonly cutoff: string;
  /** What begins it, in words that go on after "pump off when". */
  readonly words: string;
  readonly on: Formula;
  readonly onsetMs: number;
  readonly must: Formula;
  readonly may: Formula;
}

const AUTOMATIC_ONLY = ['sensor-lost', 'too-cool', 'standstill', 'reserve', 'not-allowed'];
/** Service primes a dry pump on a stopped engine and has limits of its own. */
export const SPARES_SERVICE = ['engine-stopped', 'burst-length', 'duty'];

/** What a cutoff stops, apart from what the settings add. */
export function stopsOf(id: string): Stops {
  if (AUTOMATIC_ONLY.includes(id)) return 'automatic';
  return id === 'button-stuck' ? 'manual' : 'all';
}

/** Formulas that several causes and properties share. */
export interface Shared {
  readonly trust: Trust;
  readonly pump: Formula;
  readonly automatic: Formula;
  readonly manual: Formula;
  readonly isService: Formula;
  /** The spray that ran between the last tick and this one. */
  readonly ran: Formula;
  readonly pieceMs: Num;
  readonly restedMs: Num;
  readonly keptStill: Formula;
  readonly slow: Formula;
  /** Some tick so far came earlier or later than the nominal time. */
  readonly uneven: Formula;
  readonly lateTick: Formula;
  readonly windowMs: number;
  readonly slotMs: number;
  readonly dutyLimitMs: number;
}

/** The bit of a cutoff by its id. */
export function bitOf(id: string): number {
  const index = CUTOFFS.findIndex((row) => row.id === id);
  if (index < 0) throw new Error(`there is no cutoff ${id}`);
  return 1 << index;
}

/** The cutoff is in force. */
export const inForce = (id: string): Formula => bit('cutoffs', bitOf(id));

/** Makes what the causes share. */
export function sharedOf(car: Car, trust: Trust): Shared {
  const { settings, contract } = car;
  const pump = equal('pump', 1);
  const ran = prev(pump);
  const elapsedZero = and(equal(ELAPSED, 0), not(FIRST));
  const stalled = and(elapsedZero, prev(elapsedZero), prev(prev(elapsedZero)));
  const hasSpeed = trust.isFitted('speed');
  const slow = hasSpeed
    ? or(trust.bad.speed, less('speed', contract.standstillDkmh, 5000))
    : or(trust.bad.rpm, less('rpm', contract.standstillRpm, 15000));
  const moved = held(not(slow), contract.movedMs, 'counted');
  const stood = held(slow, contract.standstillMs, 'counted');
  return {
    trust,
    pump,
    automatic: and(pump, or(equal('reason', 0), equal('reason', 2))),
    manual: and(pump, equal('reason', 1)),
    isService: equal('service', 1),
    ran,
    pieceMs: total(ran, not(ran)),
    restedMs: total(not(ran), ran),
    keptStill: since(not(moved), or(stood, trust.bad.speed)),
    slow,
    uneven: once(and(not(FIRST), not(equal(ELAPSED, contract.tickMs)))),
    lateTick: or(less(contract.lateTickMs, ELAPSED, 100), stalled),
    windowMs: settings.dutyWindowMs,
    slotMs: Math.ceil(settings.dutyWindowMs / 60),
    dutyLimitMs: Math.floor(settings.dutyWindowMs / 1000) * settings.dutyPm,
  };
}

interface Row {
  readonly cutoff: string;
  readonly words: string;
  readonly on: Formula;
  readonly onsetMs?: number;
  readonly clear?: Formula;
  readonly letGoMs?: number;
  /** What is found at the first tick is not taken to have stood before it. */
  readonly waitsAtStart?: boolean;
  /** In force from a boot on. */
  readonly fromBoot?: boolean;
  /** A wider condition under which it may be in force as well. */
  readonly mayOn?: Formula;
  readonly mayClear?: Formula;
}

/** In force from its debounce on, until it has been clear for its let-go time. */
function follow(row: Row, on: Formula, clear: Formula, shared: Shared): Formula {
  const letGoMs = row.letGoMs ?? 0;
  // A let-go that runs begins anew at a late tick: nobody saw what happened meanwhile.
  const letGo = and(held(clear, letGoMs), not(within(shared.lateTick, letGoMs)));
  const atStart = row.waitsAtStart === true ? not(TRUE) : and(FIRST, on);
  const fromBoot = row.fromBoot === true ? and(FIRST, equal('booted', 1)) : not(TRUE);
  return since(not(letGo), or(held(on, row.onsetMs ?? 0), atStart, fromBoot));
}

function causeOf(row: Row, shared: Shared): Cause {
  const clear = row.clear ?? not(row.on);
  const must = follow(row, row.on, clear, shared);
  const isWider = row.mayOn !== undefined || row.mayClear !== undefined;
  const may = isWider ? follow(row, row.mayOn ?? row.on, row.mayClear ?? clear, shared) : must;
  const { cutoff, words, on } = row;
  return { cutoff, words, on, onsetMs: row.onsetMs ?? 0, must, may };
}

/** In force from `on` until `cleared` (at the latest, `clearedLate`); both act in their own tick. */
function latched(
  cutoff: string,
  words: string,
  on: Formula,
  cleared: Formula,
  clearedLate: Formula = cleared,
): Cause {
  const must = since(not(cleared), on);
  const may = clearedLate === cleared ? must : since(not(clearedLate), on);
  return { cutoff, words, on, onsetMs: 0, must, may };
}

/** Disarmed for long enough to clear a latch; where ticks are uneven, at the earliest and the latest. */
function clearedByDisarming({ contract }: Car, shared: Shared): { soon: Formula; late: Formula } {
  const was = prev(inForce('disarmed'));
  const ms = contract.disarmToClearMs;
  const exact = held(was, ms - contract.tickMs);
  return {
    soon: or(exact, and(shared.uneven, held(was, ms - 5 * contract.tickMs))),
    late: or(and(not(shared.uneven), exact), held(was, ms)),
  };
}

const NEEDED: readonly InputName[] = ['rpm', 'boost', 'charge', 'ambient', 'supply', 'feedback'];

function readingRows(car: Car, { trust, lateTick }: Shared): Row[] {
  const { settings: s, contract: c } = car;
  const { bad, late } = trust;
  const isRpmLow = less('rpm', s.runRpm, 15000);
  const runs = and(not(isRpmLow), not(bad.rpm));
  const isLost = or(bad.boost, bad.charge);
  const armOpen = not(equal('arm', 1));
  return [
    {
      ...{ cutoff: 'disarmed', words: 'the arm switch is open', fromBoot: true },
      ...{ on: armOpen, onsetMs: c.switchMs, letGoMs: c.switchMs },
    },
    {
      ...{ cutoff: 'engine-stopped', words: 'engine speed is under runRpm', fromBoot: true },
      ...{ on: or(isRpmLow, bad.rpm), onsetMs: c.engineStoppedMs },
      ...{ clear: runs, letGoMs: c.engineRunsMs },
    },
    {
      ...{ cutoff: 'engine-stopped', words: 'engine speed is unknown' },
      ...{ on: bad.rpm, onsetMs: c.engineUnknownMs, clear: runs, letGoMs: c.engineRunsMs },
    },
    {
      ...{ cutoff: 'sensor-lost', words: 'boost or charge temperature is unknown', fromBoot: true },
      ...{ on: isLost, onsetMs: c.sensorLostMs, letGoMs: c.sensorBackMs },
    },
    {
      ...{ cutoff: 'late-input', words: 'a needed input has not been read', fromBoot: true },
      ...{ on: or(...NEEDED.map((name) => late[name])), letGoMs: c.lateInputBackMs },
    },
    {
      ...{ cutoff: 'too-cool', words: 'the charge is under floor, or unknown' },
      on: or(less('charge', s.floorDc, 2400), bad.charge),
      clear: and(not(less('charge', s.floorDc + c.floorReleaseDc, 2400)), not(bad.charge)),
    },
    {
      ...{ cutoff: 'button-stuck', words: 'the button stays closed', waitsAtStart: true },
      ...{ on: trust.button, onsetMs: c.buttonStuckMs, letGoMs: c.buttonFreeMs },
    },
    { cutoff: 'late-tick', words: 'a tick comes late, or its clock stands still', on: lateTick },
  ];
}

/** The slots of the lowest ambient: it is remembered for 10 to 10.5 min of counted time. */
const FROST_SLOTS = 20;

function frostRows({ settings: s, contract: c }: Car, { trust, uneven }: Shared): Row[] {
  const { bad } = trust;
  const release = s.freezeDc + c.freezeReleaseDc;
  if (!trust.isFitted('ambient')) {
    const clear = and(not(less('charge', release, 2400)), not(bad.charge));
    const on = or(less('charge', s.freezeDc, 2400), bad.charge);
    const cutoff = 'freezing';
    return [
      { cutoff, words: 'the charge is under freeze', on, onsetMs: c.freezingMs, clear },
      {
        ...{ cutoff, words: 'the charge, which guards against frost, is unknown' },
        ...{ on: bad.charge, onsetMs: c.frostUnknownMs, clear },
      },
    ];
  }
  const leastMs = FROST_SLOTS * c.frostSlotMs;
  const lowestOf = (ms: number): Num => lowest('ambient', not(bad.ambient), ms);
  const least = lowestOf(leastMs);
  const most = lowestOf(leastMs + c.frostSlotMs + 5 * c.tickMs);
  // Only counted time moves the slots on, so that a pause keeps the cold for longer.
  const mayKeep = (limit: number): Formula => or(less(most, limit, 2400), uneven);
  return [
    {
      ...{ cutoff: 'freezing', words: 'the lowest ambient of the last 10 min is under freeze' },
      ...{ on: less(least, s.freezeDc, 2400), onsetMs: c.freezingMs },
      clear: not(less(least, release, 2400)),
      mayOn: less(most, s.freezeDc, 2400),
      mayClear: not(mayKeep(release)),
    },
    {
      ...{ cutoff: 'freezing', words: 'ambient temperature is unknown' },
      ...{ on: bad.ambient, onsetMs: c.frostUnknownMs },
      clear: and(not(bad.ambient), not(less(least, release, 2400))),
      mayClear: and(not(bad.ambient), not(mayKeep(release))),
    },
  ];
}

function supplyRow({ settings: s, contract: c }: Car, { trust }: Shared): Row {
  const outside = (byMv: number): Formula =>
    or(less('supply', s.supplyLowMv + byMv, 40000), less(s.supplyHighMv - byMv, 'supply', 40000));
  if (!trust.isFitted('supply'))
    return { cutoff: 'supply', words: 'it is not fitted', on: not(TRUE) };
  return {
    ...{ cutoff: 'supply', words: 'the supply is out of its range, or unknown' },
    ...{ on: or(outside(0), trust.bad.supply), onsetMs: c.supplyMs, letGoMs: c.supplyBackMs },
    clear: and(not(outside(c.supplyReleaseMv)), not(trust.bad.supply)),
  };
}

function levelRow({ settings: s, calibration, contract: c }: Car, { trust }: Shared): Row {
  const lowUl = calibration.levelKind === LevelKind.Gauge ? c.levelLowUl : 0;
  const isLow = trust.isFitted('level')
    ? or(less('level', lowUl + 1, 1_000_000), trust.bad.level)
    : not(TRUE);
  return {
    ...{ cutoff: 'tank-empty', words: 'the level is low, or unknown', on: isLow },
    ...{ onsetMs: s.levelAfterMs, letGoMs: c.levelBackMs },
  };
}

/** What a running spray has taken beyond its nominal tick is charged before the tick decides. */
function tankRows({ settings: s }: Car, { uneven, ran }: Shared): Row[] {
  const known = and(not(FIRST), not(equal('refilled', 1)));
  const beyondUl = Math.ceil((s.flowUlps * 80) / 1000);
  const row = (cutoff: string, words: string, limitUl: number): Row => {
    const reached = less(before('tank'), limitUl + 1, s.tankUl);
    const sooner = and(uneven, ran, less(before('tank'), limitUl + beyondUl + 1, s.tankUl));
    const on = and(known, reached);
    return { cutoff, words, on, mayOn: or(not(known), reached, sooner) };
  };
  return [
    row('reserve', 'the estimate is at or under reserve', s.reserveUl),
    row('tank-empty', 'the estimate is at zero', 0),
  ];
}

function sprayRows(car: Car, shared: Shared): Row[] {
  const { settings: s, contract: c } = car;
  const { ran, pieceMs, windowMs, slotMs, keptStill, uneven, trust, isService } = shared;
  const wider = windowMs + slotMs + 2 * c.tickMs;
  const bootFull = or(uneven, and(equal('booted', 1), within(FIRST, wider)));
  const sprayed = spent(ran, windowMs);
  const maySprayed = spent(ran, wider);
  const standLimitMs = Math.floor(windowMs / 1000) * s.standstillDutyPm;
  const usedMs = total(prev(and(shared.automatic, keptStill)), not(keptStill));
  const usedUp = atLeast(usedMs, constant(s.standstillMaxMs), 20_000);
  return [
    {
      ...{ cutoff: 'burst-length', words: 'a spray has reached maxBurst', letGoMs: s.minRestMs },
      on: and(ran, not(isService), atLeast(pieceMs, constant(s.maxBurstMs), 10_000)),
    },
    {
      ...{ cutoff: 'duty', words: 'spray in the window has reached duty' },
      on: atLeast(sprayed, constant(shared.dutyLimitMs), 60_000),
      mayOn: or(bootFull, atLeast(maySprayed, constant(shared.dutyLimitMs), 60_000)),
    },
    {
      ...{ cutoff: 'standstill', words: 'standstillMax is used up at a standstill' },
      on: and(keptStill, usedUp),
      mayOn: and(keptStill, or(usedUp, uneven)),
    },
    {
      ...{ cutoff: 'standstill', words: 'the window holds standstillDuty at a standstill' },
      on: and(keptStill, atLeast(sprayed, constant(standLimitMs), 60_000)),
      mayOn: and(keptStill, or(bootFull, atLeast(maySprayed, constant(standLimitMs), 60_000))),
    },
    {
      ...{ cutoff: 'standstill', words: 'vehicle speed is unknown' },
      on: trust.bad.speed,
      clear: held(not(shared.slow), c.movedMs, 'counted'),
    },
  ];
}

/** Feedback against what the outputs of the last tick should have led to. */
function apartOf({ calibration }: Car): Formula {
  const was = (name: string, level: number): Formula => equal(before(name), level);
  const combinations = calibration.feedbackExpected.map((expected, index) =>
    expected === 2
      ? not(TRUE)
      : and(was('enable', index & 1), was('pump', index >> 1), not(equal('feedback', expected))),
  );
  return or(...combinations);
}

function circuitCauses(car: Car, shared: Shared): Cause[] {
  if (!shared.trust.isFitted('feedback')) return [];
  const { contract: c } = car;
  const differs = (name: string): Formula => {
    const stays = (level: number) => and(equal(name, level), equal(before(name), level));
    return not(or(stays(1), stays(0)));
  };
  // What stood before the first tick is not known: it counts as a change.
  const changed = or(FIRST, differs('pump'), differs('enable'));
  const apart = and(not(FIRST), apartOf(car));
  const isLong = less(5 * c.tickMs, ELAPSED, 100);
  // Blank: 100 ms have not passed since the outputs changed, which is told one tick later.
  const beyond = not(within(prev(changed), c.circuitBlankMs - c.tickMs));
  const counts = not(within(prev(changed), c.circuitBlankMs));
  const wasOn = equal(before('pump'), 1);
  const cleared = clearedByDisarming(car, shared);
  const told = equal('circuitCleared', 1);
  const sumOf = (isOn: Formula, forget: Formula): Num => {
    const add = and(apart, prev(apart), counts, isOn);
    const agrees = and(not(apart), beyond, isOn);
    return total(add, or(agrees, forget));
  };
  const isEnough = (sumMs: Num, lessMs = 0): Formula =>
    atLeast(sumMs, constant(c.circuitMs - lessMs), 150);
  const openOn = and(not(shared.uneven), isEnough(sumOf(wasOn, or(cleared.soon, told))));
  const stuckMs = sumOf(not(wasOn), told);
  const stuckOn = and(not(shared.uneven), isEnough(stuckMs));
  // Where ticks are uneven, only what is sure: apart without a break, with no long tick in it. It too is
  // forgotten when the self-test says that the circuit is sound.
  const sure = (isOn: Formula): Formula =>
    held(and(apart, counts, isOn, not(isLong), prev(not(isLong)), not(told)), c.circuitMs);
  const open = latched(
    'pump-circuit',
    'the pump should draw and does not',
    or(openOn, sure(wasOn)),
    or(cleared.soon, told),
  );
  const stuckWords = 'the pump draws though commanded off';
  const bootStuck = and(FIRST, equal('pumpStuckOn', 1));
  const stuck = latched('pump-circuit', stuckWords, or(stuckOn, sure(not(wasOn)), bootStuck), told);
  // What ends the core for good takes its outputs back between two ticks, up to a tick before it shows.
  const ended = or(equal('condemned', 1), equal('failed', 1));
  const stuckSoon = and(once(ended), isEnough(stuckMs, c.tickMs));
  const wide = (cause: Cause, may: Formula): Cause => ({ ...cause, may: or(cause.may, may) });
  return [wide(open, shared.uneven), wide(stuck, or(shared.uneven, since(not(told), stuckSoon)))];
}

function latchCauses(car: Car, shared: Shared, supply: Cause): Cause[] {
  const { contract: c } = car;
  const cleared = clearedByDisarming(car, shared);
  const tripped = and(rises(supply.must), shared.ran);
  const late = and(shared.lateTick, not(equal('maintenance', 1)));
  const opened = held(not(equal('arm', 1)), c.resetArmOpenMs);
  const closes = falls(inForce('disarmed'));
  const openedLong = since(not(prev(closes)), opened);
  return [
    latched(
      'supply',
      'three supply cutoffs came within 60 s while spraying',
      recurs(tripped, c.supplyLatchCount, c.supplyLatchWindowMs),
      cleared.soon,
      cleared.late,
    ),
    latched(
      'late-tick',
      'ten ticks came late within 10 s',
      recurs(late, c.lateTickCount, c.lateTickWindowMs),
      cleared.soon,
      cleared.late,
    ),
    latched(
      'unexpected-reset',
      'the last reset was not expected',
      and(FIRST, equal('afterReset', 1)),
      prev(and(closes, prev(openedLong))),
    ),
    latched(
      'bad-settings',
      'settings, calibration or bundle are bad',
      equal('condemned', 1),
      not(TRUE),
    ),
    latched('core-fault', 'the core has failed', equal('failed', 1), not(TRUE)),
  ];
}

/** All causes of all cutoffs, in the order of the table. */
export function causesOf(car: Car, shared: Shared): Cause[] {
  const supply = causeOf(supplyRow(car, shared), shared);
  const rows = [
    ...readingRows(car, shared),
    ...frostRows(car, shared),
    levelRow(car, shared),
    ...tankRows(car, shared),
    ...sprayRows(car, shared),
  ];
  const isAllowed = car.settings.automaticAllowed === 1 && car.settings.manualAllowed === 1;
  const forbidden = isAllowed ? not(TRUE) : TRUE;
  const causes = [
    ...rows.map((row) => causeOf(row, shared)),
    supply,
    ...latchCauses(car, shared, supply),
    ...circuitCauses(car, shared),
    latched('not-allowed', 'the settings forbid this kind of spray', forbidden, not(TRUE)),
  ];
  return causes.sort((a, b) => bitOf(a.cutoff) - bitOf(b.cutoff));
}
