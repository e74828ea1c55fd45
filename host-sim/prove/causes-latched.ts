/**
 * The causes of the cutoffs that stay in force until they are cleared: the pump circuit, three cutoffs
 * of the supply, ten late ticks, an unexpected reset, what condemns the core.
 */
import { clearedByDisarming, inForce, latched, type Cause, type Shared } from './cause.js';
import {
  and,
  atLeast,
  before,
  constant,
  ELAPSED,
  equal,
  falls,
  FIRST,
  held,
  less,
  not,
  once,
  or,
  prev,
  recurs,
  rises,
  since,
  total,
  TRUE,
  within,
  type Formula,
  type Num,
} from './formula.js';
import type { Car } from './trust.js';

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

/** The pump does not draw when it should, or draws when it should not. */
export function circuitCauses(car: Car, shared: Shared): Cause[] {
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

/** What stays in force until it is cleared; `supply` is the cause whose rises are counted. */
export function latchCauses(car: Car, shared: Shared, supply: Cause): Cause[] {
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
