/**
 * The general properties of rests and of service: how long an automatic burst waits after a whole one,
 * by the charge; and what a spray in service needs. Numbers are the settings' and the contract's.
 */
import type { Shared } from './cause.js';
import {
  and,
  atLeast,
  constant,
  falls,
  generalProperty as general,
  less,
  not,
  or,
  prev,
  rises,
  since,
  type Formula,
  type Property,
} from './formula.js';
import type { Car } from './trust.js';

/** Steps by which the line from `rest` to `restHot` is followed: the charge is under each one's end. */
const STEPS = 4;

/** The rest before an automatic burst, after one that was whole. */
export function restProperties({ settings: s }: Car, shared: Shared): Property[] {
  const { pump, pieceMs, restedMs, automatic } = shared;
  const wholeEnded = and(falls(pump), atLeast(pieceMs, constant(s.burstMs), 10_000));
  const afterWhole = prev(since(not(pump), wholeEnded));
  const restedFor = (ms: number): Formula => atLeast(restedMs, constant(ms), 60_000);
  const spanDc = s.tempHotDc - s.tempOnDc;
  const steps = Array.from({ length: STEPS }, (_, index) => {
    const share = (index + 1) / STEPS;
    const endDc = s.tempOnDc + Math.floor(spanDc * share);
    const leastMs = Math.floor(s.restMs - (s.restMs - s.restHotMs) * share);
    return or(not(less('charge', endDc, 2400)), restedFor(leastMs));
  });
  return [
    general(
      'rest before automatic sprays',
      `After a whole burst the next automatic one waits: ${s.restMs / 1000} s at tempOn, shortening to ${s.restHotMs / 1000} s at tempHot.`,
      and(rises(pump), automatic, afterWhole),
      and(restedFor(Math.max(s.minRestMs, s.restHotMs)), ...steps),
    ),
  ];
}

/** What a spray in service needs, and how long it goes on. */
export function serviceProperties({ contract: c }: Car, shared: Shared): Property[] {
  const { pump, ran, pieceMs, restedMs, isService, trust, sprayedBefore } = shared;
  return [
    general(
      'length of service sprays',
      `No spray in service goes on for more than ${c.serviceMsMax / 1000} s and one tick.`,
      and(pump, ran, isService),
      less(pieceMs, c.serviceMsMax, 10_000),
    ),
    general(
      'rest between service sprays',
      `In service at least ${c.serviceRestMs / 1000} s pass after a boot or a spray.`,
      and(rises(pump), isService, sprayedBefore),
      atLeast(restedMs, constant(c.serviceRestMs), 10_000),
    ),
    general(
      'service sprays need the button',
      'In service the pump runs only while the button is held.',
      and(pump, isService),
      trust.button,
    ),
  ];
}
