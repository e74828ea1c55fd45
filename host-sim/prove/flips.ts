/**
 * Bits that change by themselves, for way 3. A bit of the state that the core seals must stop everything
 * in the next tick. A bit of a number that the settings, calibration and limits were compiled to, once (it
 * comes right again after a while) or for good, must do so within the round in which the core compares them
 * all, and it must stay off when the bit is right again; until it is found, the core may stray, and that is
 * counted. A bit of the settings record itself must change no tick: ticks run on what was compiled.
 */
import type { Core } from '../../controller/core.js';
import { LIMITS } from '../../controller/limits.js';
import { bitOf } from './cause.js';
import { RULE_ROUND_MS } from './contract.js';
import { resume, type Moment } from './moments.js';
import { Player } from './player.js';
import { copyReadings, TICK_MS, type FaultRun, type RunWindow } from './runs.js';
import type { Subject } from './subject.js';

export interface FlipCounts {
  /** Changed bits of the sealed state. */
  flips: number;
  /** Changed bits of compiled numbers, and how many such numbers there are. */
  settingFlips: number;
  settingsNumbers: number;
  /** Of them: found by the core, the longest that took, and right again before it was found. */
  found: number;
  foundMsMax: number;
  putBack: number;
  /** Of them: some property did not hold before the bit was found or right again. */
  strayed: number;
  /** The latest tick in which one did not, ms after the bit changed. */
  strayedMsMax: number;
  /** Changed bits of the settings record. */
  recordFlips: number;
}

/** What a changed bit led to that must not be. */
export interface FlipFault {
  readonly tick: number;
  readonly sentence: string;
}

type NumberRecord = Record<string, number>;

interface Cell {
  readonly record: NumberRecord;
  readonly name: string;
  readonly path: string;
  /** So many of its bits are changed, from the lowest on. */
  readonly bits: number;
}

/** Compiled numbers have up to 31 bits. */
const NUMBER_BITS = 30;
const STATE_BITS = 32;
/** A bit that comes right again does so after this long. */
const ONCE_TICKS = 250;
/** So long it is watched that it stays off. */
const STAYS_TICKS = 10;
/** So long a changed settings record is watched. */
const RECORD_TICKS = 100;
const FOUND = bitOf('core-fault');
const ROUND_TICKS = RULE_ROUND_MS / TICK_MS;

/** Changes bits in a core of its own, in the car of one run. */
export class BitFlips {
  private readonly player: Player;
  private readonly sealed: readonly Cell[];
  private readonly compiled: readonly Cell[];
  private readonly record: readonly Cell[];

  constructor(
    private readonly subject: Subject,
    run: FaultRun,
    private readonly counts: FlipCounts,
  ) {
    // The limits are a copy: the shipped table is frozen, and everybody's.
    const limits = structuredClone(LIMITS);
    const car = { ...run.car, settings: { ...run.car.settings } };
    this.player = new Player(subject, car, limits);
    const { core } = this.player;
    this.sealed = sealedCells(core);
    this.compiled = [...numbersIn(core.rules, 'rules'), ...numbersIn(core.limits, 'limits')];
    this.record = numbersIn(core.settings, 'settings');
    counts.settingsNumbers = Math.max(counts.settingsNumbers, this.compiled.length);
  }

  /** The next bits in turn, at this moment; what must not be, or undefined. */
  tryAt(
    moment: Moment,
    window: RunWindow,
    point: number,
    both: boolean,
  ): { ticks: number; fault: FlipFault | undefined } {
    const before = this.player.ticks;
    const fault =
      this.flipState(moment, window, point) ??
      (both || point % 2 === 0 ? this.flipCompiled(moment, window, point, true) : undefined) ??
      (both || point % 2 === 1 ? this.flipCompiled(moment, window, point, false) : undefined) ??
      this.flipRecord(moment, window, point);
    return { ticks: this.player.ticks - before, fault };
  }

  private tick(window: RunWindow, tick: number): number {
    copyReadings(window.readings(tick), this.player.readings);
    return this.player.step();
  }

  /** The pump is off, enable is open, and the cutoff says why. */
  private get isStopped(): boolean {
    const { output, cutoffs } = this.player.core.state;
    return output.pump === 0 && output.enable === 0 && (cutoffs.active & FOUND) !== 0;
  }

  /** The core has said that it is at fault: it must stay off, though nothing is wrong any more. */
  private staysOff(window: RunWindow, from: number, what: string): FlipFault | undefined {
    for (let tick = from; tick < from + STAYS_TICKS; tick++) {
      this.tick(window, tick);
      if (!this.isStopped)
        return { tick, sentence: `A bit of ${what} changed and the core went on.` };
    }
    return undefined;
  }

  private flipState(moment: Moment, window: RunWindow, point: number): FlipFault | undefined {
    const { record, name, path, bits } = this.sealed[point % this.sealed.length];
    const bit = Math.floor(point / this.sealed.length) % bits;
    resume(this.subject, this.player, moment);
    record[name] ^= 1 << bit;
    this.counts.flips++;
    return this.staysOff(window, moment.tick, path);
  }

  private flipCompiled(
    moment: Moment,
    window: RunWindow,
    point: number,
    isOnce: boolean,
  ): FlipFault | undefined {
    const { counts, player } = this;
    const { record, name, path, bits } = this.compiled[point % this.compiled.length];
    const right = record[name];
    resume(this.subject, player, moment);
    counts.settingFlips++;
    record[name] ^= 1 << ((7 * point) % bits);
    let tick = moment.tick;
    const end = tick + (isOnce ? ONCE_TICKS : ROUND_TICKS);
    let hasStrayed = false;
    do {
      const broken = this.tick(window, tick++);
      // With the fault told, the monitors would want a cause that nobody told them.
      if (broken < 0 || (player.core.state.cutoffs.active & FOUND) !== 0) continue;
      hasStrayed = true;
      counts.strayedMsMax = Math.max(counts.strayedMsMax, (tick - moment.tick) * TICK_MS);
    } while (tick < end && !this.isStopped);
    record[name] = right;
    if (hasStrayed) counts.strayed++;
    if (this.isStopped) {
      counts.found++;
      counts.foundMsMax = Math.max(counts.foundMsMax, (tick - moment.tick) * TICK_MS);
      return this.staysOff(window, tick, path);
    }
    if (!isOnce) return { tick, sentence: `A bit of ${path} changed and the core went on.` };
    counts.putBack++;
    return undefined;
  }

  private flipRecord(moment: Moment, window: RunWindow, point: number): FlipFault | undefined {
    const { record, name, path, bits } = this.record[point % this.record.length];
    const right = record[name];
    this.counts.recordFlips++;
    const sound = this.stateAfter(moment, window);
    record[name] ^= 1 << ((7 * point) % bits);
    const changed = this.stateAfter(moment, window);
    record[name] = right;
    if (this.isStopped || changed === sound) return undefined;
    return {
      tick: moment.tick,
      sentence: `A bit of ${path} changed and the core decided otherwise.`,
    };
  }

  private stateAfter(moment: Moment, window: RunWindow): string {
    const { player, subject } = this;
    resume(subject, player, moment);
    for (let tick = moment.tick; tick < moment.tick + RECORD_TICKS; tick++) {
      copyReadings(window.readings(tick), player.readings);
      player.tickOnly();
    }
    return subject.snapshot(player.core.state).join();
  }
}

/** What decides about safety in the state: see `sealOf` in the core. */
function sealedCells({ state }: Core): Cell[] {
  const cells = (record: object, group: string, names: readonly string[]): Cell[] =>
    names.map((name) => ({
      record: record as NumberRecord,
      ...{ name, path: `the state, ${group}.${name}`, bits: STATE_BITS },
    }));
  return [
    ...cells(state.account, 'account', [
      ...['tankUl', 'windowMs', 'pieceMs', 'restedMs', 'standstillMs', 'kind'],
    ]),
    ...cells(state.cutoffs, 'cutoffs', ['causes', 'latched', 'active', 'lowestDc']),
    ...cells(state.burst, 'burst', ['service']),
  ];
}

/**
 * Every number of a record and of the records and lists in it. What is frozen cannot be changed here: the
 * plain tables by which readings stand for codes.
 */
function numbersIn(record: object, path: string): Cell[] {
  if (Object.isFrozen(record)) return [];
  return Object.entries(record).flatMap(([name, value]): Cell[] => {
    const at = `${path}.${name}`;
    if (typeof value === 'number') {
      return [{ record: record as NumberRecord, name, path: at, bits: NUMBER_BITS }];
    }
    return typeof value === 'object' && value !== null ? numbersIn(value as object, at) : [];
  });
}
