/**
 * The contract's general properties, as far as one run shows them: duty, pieces and rests, reserve,
 * hysteresis, what a spray needs, what the outputs say of each other, and that it does spray under
 * good conditions. Numbers are the settings' and the contract's.
 */
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import { bitOf, SPARES_SERVICE, stopsOf, type Shared } from './cause.js';
import {
  and,
  atLeast,
  bit,
  constant,
  equal,
  falls,
  FALSE,
  FIRST,
  held,
  less,
  not,
  or,
  prev,
  rises,
  since,
  spent,
  within,
  type Formula,
  generalProperty as general,
  type Property,
} from './formula.js';
import { restProperties, serviceProperties } from './general-rests.js';
import { waterProperties } from './general-water.js';
import { banded, type Car } from './trust.js';

function bitsThat(stops: readonly string[], except: readonly string[] = []): number {
  return CUTOFFS.filter(({ id }) => stops.includes(stopsOf(id)) && !except.includes(id)).reduce(
    (sum, { id }) => sum | bitOf(id),
    0,
  );
}

/** All of them for one car. */
export function generalProperties(car: Car, shared: Shared): Property[] {
  return [
    ...windowProperties(shared),
    ...pieceProperties(car, shared),
    ...waterProperties(car, shared),
    ...restProperties(car, shared),
    ...serviceProperties(car, shared),
    ...demandProperties(car, shared),
    ...outputProperties(shared),
  ];
}

/** A limit that one tick may exceed: 20 ms, or up to 100 where ticks are uneven. */
function exceeded(shared: Shared, limitMs: number, sumMs: ReturnType<typeof spent>): Formula {
  const over = less(constant(limitMs + 20), sumMs, 60_000);
  return or(and(not(shared.uneven), over), less(constant(limitMs + 100), sumMs, 60_000));
}

function windowProperties(shared: Shared): Property[] {
  const { windowMs, dutyLimitMs, ran, isService } = shared;
  const over = exceeded(shared, dutyLimitMs, spent(and(ran, not(isService)), windowMs));
  const properties = [
    general(
      'spray in the window',
      `In any ${windowMs / 1000} s it sprays for at most ${dutyLimitMs / 1000} s and one tick.`,
      and(ran, not(isService)),
      not(over),
    ),
  ];
  // The window of a boot begins full and empties evenly, in ten looks.
  const sofar = spent(ran, windowMs);
  for (let tenth = 1; tenth <= 9; tenth++) {
    const limitMs = Math.floor((dutyLimitMs * tenth) / 10) + 20;
    properties.push(
      general(
        `spray after a boot, ${tenth}0 %`,
        `In the first ${tenth}0 % of the window after a boot it sprays for at most ${tenth}0 % of the limit.`,
        and(equal('booted', 1), within(FIRST, Math.floor((windowMs * tenth) / 10)), not(isService)),
        not(exceeded(shared, limitMs, sofar)),
      ),
    );
  }
  return properties;
}

function pieceProperties({ settings: s }: Car, shared: Shared): Property[] {
  const { pump, ran, pieceMs, restedMs, automatic, manual, isService, trust, sprayedBefore } =
    shared;
  const goesOn = and(pump, ran);
  const under = (limitMs: number): Formula => less(pieceMs, limitMs, 10_000);
  const begins = rises(pump);
  const stopping = bit('cutoffs', bitsThat(['all', 'automatic', 'manual'], ['not-allowed']));
  const cut = or(stopping, not(trust.stage), isService, prev(isService));
  const manualMs = Math.max(s.manualMs, s.minSprayMs);
  return [
    general(
      'length of automatic sprays',
      `No automatic spray goes on for more than ${s.burstMs / 1000} s and one tick.`,
      and(goesOn, automatic),
      under(Math.min(s.burstMs, s.maxBurstMs)),
    ),
    general(
      'length of sprays by the button',
      `No spray by the button goes on for more than ${manualMs / 1000} s and one tick.`,
      and(goesOn, manual),
      under(Math.min(manualMs, s.maxBurstMs)),
    ),
    general(
      'rest between sprays',
      `Between two sprays at least ${s.minRestMs / 1000} s pass.`,
      and(begins, sprayedBefore),
      atLeast(restedMs, constant(s.minRestMs), 10_000),
    ),
    general(
      'shortest spray',
      `No spray is shorter than ${s.minSprayMs / 1000} s unless a cutoff or the stage switch ends it.`,
      and(falls(pump), not(cut)),
      atLeast(pieceMs, constant(s.minSprayMs), 10_000),
    ),
  ];
}

/** The demand as the thresholds and their hystereses make it, from readings alone. */
export function demandOf(
  { settings: s }: Car,
  { trust }: Shared,
): { all: Formula; demand: Formula } {
  const { bad } = trust;
  const charge = s.lookAheadMs === 0 ? 'charge' : 'expected';
  const temp = banded(charge, s.tempOnDc, s.tempOnDc - s.tempHysteresisDc, 2400, bad.charge);
  const rpm = banded('rpm', s.rpmOnRpm, s.rpmOnRpm - s.rpmHysteresisRpm, 15_000, bad.rpm);
  const boostOff = s.boostOnHpa - s.boostHysteresisHpa;
  const boost = banded('boost', s.boostOnHpa, boostOff, 6000, bad.boost);
  const all = and(temp, rpm, boost);
  return { all, demand: since(not(held(not(all), s.demandHoldMs)), all) };
}

function demandProperties(car: Car, shared: Shared): Property[] {
  const { settings: s, contract: c } = car;
  const { automatic, manual, trust, keptStill, ran, pump, windowMs, slotMs, isService } = shared;
  const { demand } = demandOf(car, shared);
  const wished = equal('demand', 1);
  const byDemand = and(pump, equal('reason', 0));
  const stood = held(shared.slow, c.standstillMs, 'counted');
  const stopsAutomatic = bitsThat(
    ['all', 'automatic'],
    s.automaticAllowed === 1 ? ['not-allowed'] : [],
  );
  const hasRoom = less(
    spent(ran, windowMs + slotMs + 2 * c.tickMs),
    shared.dutyLimitMs - s.burstMs + 1,
    60_000,
  );
  const isHeldBack = s.stageTimeMs > 0 || s.minDepressionDc > 0;
  const good = and(
    ...[demand, trust.stage, not(bit('cutoffs', stopsAutomatic)), hasRoom],
    ...[not(keptStill), not(isService), isHeldBack ? FALSE : not(shared.uneven)],
  );
  const offDc = s.precoolOnDc - s.tempHysteresisDc;
  const warm = banded('charge', s.precoolOnDc, offDc, 2400, trust.bad.charge);
  const turns = and(not(less('rpm', s.runRpm, 15_000)), not(trust.bad.rpm));
  const runs = held(turns, c.precoolAfterStartMs, 'counted');
  const longMs = s.restMs + 1000;
  const isBooted = equal('booted', 1);
  const bootWindow = and(isBooted, within(FIRST, windowMs + slotMs + 2 * c.tickMs));
  return [
    general(
      'demand begins and ends by the thresholds',
      'Demand is what the three thresholds with their hystereses and demandHold make it.',
      or(wished, demand),
      and(wished, demand),
    ),
    general(
      'automatic sprays need demand',
      'An automatic spray begins only with demand, in stage mode.',
      rises(byDemand),
      and(demand, trust.stage),
    ),
    general(
      'automatic sprays need the stage switch',
      'An automatic spray goes on only in stage mode.',
      automatic,
      trust.stage,
    ),
    general(
      'pre-cooling needs a standstill',
      `Pre-cooling is sprayed only if it is set, at a standstill, in stage mode, at or above precoolOn, ${c.precoolAfterStartMs / 1000} s after an engine start or later.`,
      rises(and(pump, equal('reason', 2))),
      s.precool === 1 ? and(stood, trust.stage, warm, runs) : FALSE,
    ),
    general(
      'sprays by the button need a press',
      'A spray by the button begins in the tick of a press, and with no other.',
      rises(manual),
      rises(trust.button),
    ),
    general(
      'it does spray',
      `Under good conditions it sprays within rest and 1 s (${longMs / 1000} s).`,
      held(and(good, not(bootWindow)), longMs),
      within(pump, longMs),
    ),
  ];
}

function outputProperties({ pump, isService }: Shared): Property[] {
  const stopsAll = bitsThat(['all']);
  const spared = bitsThat(['all'], SPARES_SERVICE);
  const stopped = or(
    and(not(isService), bit('cutoffs', stopsAll)),
    and(isService, bit('cutoffs', spared)),
  );
  const enabled = equal('enable', 1);
  return [
    general('the pump needs enable', 'The pump is on only together with enable.', pump, enabled),
    general(
      'enable follows the cutoffs',
      'Enable is closed unless a cutoff that stops all is in force.',
      not(stopped),
      enabled,
    ),
    general(
      'the reason says whether it sprays',
      'A reason of a spray is given while the pump is on, and only then.',
      or(pump, less('reason', 4)),
      and(pump, less('reason', 4)),
    ),
  ];
}
