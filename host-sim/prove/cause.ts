/**
 * What a cause of a cutoff is, and how one becomes formulas: from the condition that begins it, its
 * debounce, the condition that ends it and its let-go time are made `must` (the cutoff has to be in
 * force) and `may` (it has a cause to be). They are the same wherever the contract fixes the tick; where
 * it counts conservatively (windows of slots), `may` is wider.
 */
import type { Settings } from '../../controller/settings.js';
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import {
  and,
  bit,
  ELAPSED,
  equal,
  FIRST,
  held,
  less,
  not,
  once,
  or,
  prev,
  since,
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
  /** It sprayed before, or may have in an earlier life. */
  readonly sprayedBefore: Formula;
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

/** Bench strap closed at boot and no tach pulse since, whatever the core says of itself. */
function serviceOf(): Formula {
  const still = equal('rpm', 0);
  return and(still, since(still, and(FIRST, equal('bench', 1))));
}

/** So much spray is a share of the duty window, permille of its whole seconds, ms. */
export function windowShareMs({ dutyWindowMs }: Settings, sharePm: number): number {
  return Math.floor(dutyWindowMs / 1000) * sharePm;
}

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
    isService: serviceOf(),
    sprayedBefore: or(prev(once(pump)), equal('booted', 1)),
    ran,
    pieceMs: total(ran, not(ran)),
    restedMs: total(not(ran), ran),
    keptStill: since(not(moved), or(stood, trust.bad.speed)),
    slow,
    uneven: once(and(not(FIRST), not(equal(ELAPSED, contract.tickMs)))),
    lateTick: or(less(contract.lateTickMs, ELAPSED, 100), stalled),
    windowMs: settings.dutyWindowMs,
    slotMs: Math.ceil(settings.dutyWindowMs / 60),
    dutyLimitMs: windowShareMs(settings, settings.dutyPm),
  };
}

/** A cause as the contract's table has it. */
export interface Row {
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

/** The formulas of a row. */
export function causeOf(row: Row, shared: Shared): Cause {
  const clear = row.clear ?? not(row.on);
  const must = follow(row, row.on, clear, shared);
  const isWider = row.mayOn !== undefined || row.mayClear !== undefined;
  const may = isWider ? follow(row, row.mayOn ?? row.on, row.mayClear ?? clear, shared) : must;
  const { cutoff, words, on } = row;
  return { cutoff, words, on, onsetMs: row.onsetMs ?? 0, must, may };
}

/** In force from `on` until `cleared` (at the latest, `clearedLate`); both act in their own tick. */
export function latched(
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
export function clearedByDisarming(
  { contract }: Car,
  shared: Shared,
): { soon: Formula; late: Formula } {
  const was = prev(inForce('disarmed'));
  const ms = contract.disarmToClearMs;
  const exact = held(was, ms - contract.tickMs);
  return {
    soon: or(exact, and(shared.uneven, held(was, ms - 5 * contract.tickMs))),
    late: or(and(not(shared.uneven), exact), held(was, ms)),
  };
}
