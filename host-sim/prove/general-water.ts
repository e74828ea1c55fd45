/**
 * The general properties of water: the reserve is kept, what is sprayed is counted, a boot believes no
 * more than what was stored, and the estimate rises only by a refill as the contract has it.
 */
import { LevelKind } from '../../controller/calibration.js';
import { inForce, type Shared } from './cause.js';
import {
  and,
  atLeast,
  before,
  constant,
  equal,
  FALSE,
  falls,
  FIRST,
  generalProperty as general,
  held,
  less,
  not,
  or,
  plus,
  prev,
  rises,
  since,
  type Formula,
  type Property,
} from './formula.js';
import type { Car } from './trust.js';

/** At a standstill a gauge that has risen, and stayed so for long enough, takes the place of the estimate. */
function toldByGauge(car: Car, { slow, trust, uneven }: Shared): Formula {
  const { settings, calibration, contract: c } = car;
  if (calibration.levelKind !== LevelKind.Gauge) return FALSE;
  const isAsShown = not(less('tank', 'level'));
  const isItOrFull = or(not(less('level', 'tank')), equal('tank', settings.tankUl));
  // Above its lowest reading by that much is at least that much.
  const high = and(not(less('level', c.refillRiseUl)), not(trust.bad.level));
  const rose = or(
    held(high, c.refillRiseMs - c.tickMs, 'counted'),
    and(uneven, held(high, c.refillRiseMs - 5 * c.tickMs, 'counted')),
  );
  return and(held(slow, c.refillRiseMs, 'counted'), rose, isAsShown, isItOrFull);
}

/** The button, held as long as it must be, while disarmed with the engine stopped, is let go. */
function toldByButton({ settings, contract: c }: Car, { trust, uneven }: Shared): Formula {
  const pressed = trust.button;
  const safe = and(inForce('disarmed'), inForce('engine-stopped'), not(trust.bad.rpm));
  const throughout = since(safe, and(safe, rises(pressed)));
  // Let go in this tick: until the last one it was held for a tick less.
  const heldFor = (ms: number): Formula => prev(held(pressed, ms));
  const long = or(
    heldFor(c.refillHoldMsMin - c.tickMs),
    and(uneven, heldFor(c.refillHoldMsMin - 5 * c.tickMs)),
  );
  const isFull = equal('tank', settings.tankUl);
  return and(falls(pressed), long, not(heldFor(c.refillHoldMsMax)), throughout, isFull);
}

/** All of them for one car. */
export function waterProperties(car: Car, shared: Shared): Property[] {
  const { settings: s, contract: c } = car;
  const { pump, automatic, ran } = shared;
  const flowUl = Math.ceil((s.flowUlps * 100) / 1000);
  const tickUl = Math.floor((s.flowUlps * 20) / 1000);
  const isAutomatic = or(automatic, prev(automatic));
  const refilled = equal('refilled', 1);
  const lessBy = plus(before('tank'), constant(1 - tickUl));
  const isStored = and(not(less('stored', 0)), less('stored', s.tankUl + 1, s.tankUl));
  const gauge = toldByGauge(car, shared);
  const [fromS, toS] = [c.refillHoldMsMin / 1000, c.refillHoldMsMax / 1000];
  return [
    general(
      'the reserve is kept',
      'Automatic spraying never takes the estimate under reserve by more than one tick.',
      isAutomatic,
      atLeast('tank', constant(s.reserveUl - flowUl), s.tankUl),
    ),
    general(
      'water is counted',
      'Every tick of spray is taken from the estimate, unless that tick tells of a refill.',
      and(pump, ran, not(FIRST), not(refilled)),
      or(less('tank', lessBy, s.tankUl), less('tank', 1, s.tankUl), gauge),
    ),
    general(
      'the estimate rises only by a refill',
      `The estimate rises only when a refill is told over the link, by the button held ${fromS} to ${toS} s while disarmed with the engine stopped, or by a gauge that stands higher for ${c.refillRiseMs / 1000} s.`,
      and(not(FIRST), less(before('tank'), 'tank')),
      or(refilled, toldByButton(car, shared), gauge),
    ),
    general(
      'a boot believes the stored estimate',
      'A boot begins with at most the stored estimate; without one that can be true, with at most the reserve.',
      and(FIRST, equal('booted', 1), not(refilled)),
      or(
        and(isStored, not(less('stored', 'tank'))),
        and(not(isStored), less('tank', s.reserveUl + 1, s.tankUl)),
      ),
    ),
  ];
}
