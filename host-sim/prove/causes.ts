/**
 * The causes of the cutoffs, from the contract's table: each with the condition that begins it, its
 * debounce, the condition that ends it and its let-go time.
 */
import { LevelKind } from '../../controller/calibration.js';
import type { InputName } from '../../controller/readings.js';
import {
  bitOf,
  causeOf,
  latched,
  type Cause,
  type Shared,
  type Row,
  windowShareMs,
} from './cause.js';
import { circuitCauses, latchCauses } from './causes-latched.js';
import {
  and,
  atLeast,
  before,
  constant,
  equal,
  FIRST,
  held,
  less,
  lowest,
  not,
  or,
  prev,
  spent,
  total,
  TRUE,
  within,
  type Formula,
  type Num,
} from './formula.js';
import type { Car } from './trust.js';

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
  const standLimitMs = windowShareMs(s, s.standstillDutyPm);
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
