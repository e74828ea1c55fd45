/**
 * A car for tests of the control core: it keeps readings (good conditions unless told otherwise),
 * ticks a core every 20 ms and gives back what each tick put out. Times are ms since the first tick,
 * readings are in the core's units. Scenarios can be written as text, one line a moment:
 *
 *   '0s: 3000rpm 900hPa 55C 80kmh -> spray-automatic'
 *   '12.5s: 3C-ambient -> -freezing pump'
 *   '13.5s: -> freezing dry lamp=steady'
 *
 * Before the arrow: what changes from that tick on. After it: what holds in that very tick, as a
 * reason's word, `+id` or `-id` for a cutoff in force or not, `pump` or `dry`, `closed` or `open` for
 * the enable output, `lamp=word`, `input=fault`. `play` gives the lines back with what really
 * happened, so that `expect(car.play(lines)).toEqual(lines)` shows the difference in the notation.
 */
import { calibrationForReadings } from '../../controller/calibration.js';
import type { LevelKind } from '../../controller/calibration.js';
import { boot, create, tick } from '../../controller/core.js';
import type { Boot, Core } from '../../controller/core.js';
import { EVENT_RING, EVENTS } from '../../controller/events.js';
import { LIMITS } from '../../controller/limits.js';
import type { Limits } from '../../controller/limits.js';
import { HEALTH_WORDS, Input, INPUTS, makeReadings } from '../../controller/readings.js';
import type { InputName, Readings } from '../../controller/readings.js';
import { KIND_WORDS, REASONS } from '../../controller/reasons.js';
import { initialSettings } from '../../controller/settings-check.js';
import type { Settings } from '../../controller/settings.js';
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import { LAMPS } from '../../controller/tick/6-output.js';

export const TICK_MS = 20;

/** What changes in the readings; the time is kept by the scenario. */
export type Changes = Partial<Omit<Readings, 'nowMs'>>;

/** What one tick put out. */
export interface Row {
  readonly ms: number;
  readonly pump: number;
  readonly enable: number;
  readonly reason: string;
  /** Ids of all cutoffs in force, by bit. */
  readonly cutoffs: readonly string[];
  readonly lamp: string;
  readonly demand: number;
  /** The word `health`; `healthOf` takes an input's fault out of it. */
  readonly health: number;
  /** Spray in the duty window, ms, and the estimate of water, ul, after the tick. */
  readonly windowMs: number;
  readonly tankUl: number;
}

/** An event of the core, in words where the argument has some. */
export interface Told {
  readonly id: string;
  readonly argument: number | string;
  readonly ms: number;
}

/** How a scenario starts, where the defaults do not do. */
export interface Start {
  readonly levelKind?: LevelKind;
  /** Starts as a boot; what is not named is a clean power-on with a full tank. */
  readonly boot?: Partial<Boot>;
  readonly tankUl?: number;
  /** The core's clock at the first tick. */
  readonly startMs?: number;
  readonly limits?: Limits;
}

/** A power-on after a proper shutdown, with a full tank and no stored ambient pressure. */
export const POWER_ON: Boot = {
  powerOn: true,
  afterRunning: false,
  pumpStuckOn: false,
  tankUl: 3000000,
  ambientHpa: 0,
  bench: false,
};

/** Fitted unless a test says otherwise; engine speed, boost and charge always are. */
export const USUAL = Input.Ambient | Input.Speed | Input.Supply;

/** A pull on a stage: everything fresh, armed, and each reading well inside every threshold. */
export function goodReadings(): Readings {
  return {
    ...makeReadings(),
    fresh: Input.All,
    rpm: 4000,
    boostHpa: 900,
    chargeDc: 600,
    ambientDc: 200,
    humidityPm: 400,
    speedDkmh: 800,
    level: 1,
    supplyMv: 13800,
    arm: 1,
    stage: 1,
  };
}

const CUTOFF_IDS: readonly string[] = CUTOFFS.map((row) => row.id);
const REASON_IDS: readonly string[] = REASONS.map((row) => row.id);
const idsOf = new Map<number, readonly string[]>();

function cutoffIds(word: number): readonly string[] {
  const known = idsOf.get(word);
  if (known) return known;
  const ids = CUTOFF_IDS.filter((_, bit) => (word & (1 << bit)) !== 0);
  idsOf.set(word, ids);
  return ids;
}

/** The fault of an input in a word `health`: 'ok', 'low', ... */
export function healthOf(word: number, input: InputName): string {
  return HEALTH_WORDS[(word >> (3 * INPUTS.indexOf(input))) & 7] ?? 'unknown';
}

/** The bits of a fault of an input, as `faults` and `health` hold it. */
export function faultBits(input: InputName, fault: (typeof HEALTH_WORDS)[number]): number {
  return HEALTH_WORDS.indexOf(fault) << (3 * INPUTS.indexOf(input));
}

/** The time of the first row in which `isSo` holds, ms; -1 if it never does. */
export function firstMs(rows: readonly Row[], isSo: (row: Row) => boolean): number {
  return rows.find(isSo)?.ms ?? -1;
}

/** The time at which a cutoff is first in force in these rows, ms; -1 if it never is. */
export function beginMs(rows: readonly Row[], id: string): number {
  return firstMs(rows, (row) => row.cutoffs.includes(id));
}

/** The time at which a cutoff is first not in force in these rows, ms; -1 if it always is. */
export function endMs(rows: readonly Row[], id: string): number {
  return firstMs(rows, (row) => !row.cutoffs.includes(id));
}

/** Spray in these rows, ms. */
export function sprayMs(rows: readonly Row[]): number {
  return rows.filter((row) => row.pump === 1).length * TICK_MS;
}

/** A core and the car around it. */
export class Scenario {
  readonly core: Core;
  readonly readings: Readings = goodReadings();
  /** Everything the core told since it was made. */
  readonly events: Told[] = [];
  /** The time of the next tick, ms since the first. */
  nextMs = 0;
  /** Feedback follows the outputs, as a sound pump does, until a change says what it is. */
  private feedbackFollows = true;
  private eventsRead = 0;
  private readonly startMs: number;

  constructor(settings: Partial<Settings>, fitted: number, start: Start) {
    const calibration = calibrationForReadings(fitted, start.levelKind);
    const all = { ...initialSettings(), ...settings };
    this.core = create(all, calibration, start.limits ?? LIMITS, start.tankUl);
    if (start.boot) boot(this.core, { ...POWER_ON, ...start.boot });
    this.startMs = start.startMs ?? 0;
  }

  /** Ticks every 20 ms for `ms`, with these changes from the first of them on. */
  run(ms: number, changes: Changes = {}): Row[] {
    this.change(changes);
    const rows: Row[] = [];
    for (const untilMs = this.nextMs + ms; this.nextMs < untilMs;) rows.push(this.step());
    return rows;
  }

  /** One tick. */
  tick(changes: Changes = {}): Row {
    this.change(changes);
    return this.step();
  }

  /** Ticks until `isSo` holds of a row, and gives that row; throws when it does not within `ms`. */
  runUntil(isSo: (row: Row) => boolean, ms: number, changes: Changes = {}): Row {
    this.change(changes);
    for (const untilMs = this.nextMs + ms; this.nextMs < untilMs;) {
      const row = this.step();
      if (isSo(row)) return row;
    }
    throw new Error('what was waited for did not happen within ' + String(ms) + ' ms');
  }

  /** Lets the core miss `ms` before its next tick. */
  pause(ms: number): this {
    this.nextMs += ms;
    return this;
  }

  /** Runs the lines of a text scenario; each comes back with what really held. */
  play(lines: readonly string[]): string[] {
    return lines.map((line) => this.playLine(line));
  }

  private playLine(line: string): string {
    const moment = parseLine(line);
    if (moment.atMs < this.nextMs) throw new Error("'" + line + "' is in the past");
    while (this.nextMs < moment.atMs) this.step();
    const row = this.tick(moment.changes);
    if (moment.expected.length === 0) return line;
    const said = moment.expected.map((word) => describe(row, word));
    return line.slice(0, line.indexOf('->') + 2) + ' ' + said.join(' ');
  }

  /** Changes readings from the next tick on. */
  change(changes: Changes): void {
    if (changes.feedback !== undefined) this.feedbackFollows = false;
    Object.assign(this.readings, changes);
  }

  private step(): Row {
    const state = this.core.state;
    const ms = this.nextMs;
    this.readings.nowMs = (this.startMs + ms) | 0;
    if (this.feedbackFollows) {
      const outputs = state.output.enable + 2 * state.output.pump;
      this.readings.feedback = this.core.calibration.feedbackExpected[outputs] === 1 ? 1 : 0;
    }
    tick(this.core, this.readings);
    this.nextMs = ms + TICK_MS;
    this.readEvents(ms);
    return {
      ms,
      pump: state.output.pump,
      enable: state.output.enable,
      reason: REASON_IDS[state.output.reason] ?? 'unknown',
      cutoffs: cutoffIds(state.cutoffs.active),
      lamp: LAMPS[state.output.lamp]?.id ?? 'unknown',
      demand: state.demand.demand,
      health: state.health.word,
      windowMs: state.account.windowMs,
      tankUl: state.account.tankUl,
    };
  }

  private readEvents(ms: number): void {
    const ring = this.core.state.events;
    for (; this.eventsRead < ring.total; this.eventsRead++) {
      const at = this.eventsRead & (EVENT_RING - 1);
      const row = EVENTS[ring.ids[at] ?? 0];
      if (!row) throw new Error('an event without a row');
      this.events.push({ id: row.id, argument: inWords(row.argument, ring.details[at] ?? 0), ms });
    }
  }
}

function inWords(kind: string, detail: number): number | string {
  if (kind === 'cutoff') return CUTOFF_IDS[detail] ?? detail;
  if (kind === 'reason') return REASON_IDS[detail] ?? detail;
  return kind === 'kind' ? (KIND_WORDS[detail] ?? detail) : detail;
}

/** A car in good conditions with a core made from these settings (initial where absent). */
export function scenario(
  settings: Partial<Settings> = {},
  fitted: number = USUAL,
  start: Start = {},
): Scenario {
  return new Scenario(settings, fitted, start);
}

/** A car in service: the bench strap was closed at boot, its engine stands, and the pump has rested. */
export function benched(settings: Partial<Settings> = {}): Scenario {
  const car = scenario(settings, USUAL, { boot: { bench: true } });
  car.run(11000, { rpm: 0, boostHpa: 0, speedDkmh: 0, stage: 0 });
  return car;
}

/** One line of the notation. */
export interface Moment {
  readonly atMs: number;
  readonly changes: Changes;
  readonly expected: readonly string[];
}

/** Words that stand for a change by themselves. */
const CHANGE_WORDS: { readonly [word: string]: Changes } = {
  armed: { arm: 1 },
  disarmed: { arm: 0 },
  stage: { stage: 1 },
  road: { stage: 0 },
  press: { button: 1 },
  release: { button: 0 },
  wet: { level: 1 },
  low: { level: 0 },
  drawing: { feedback: 1 },
  dead: { feedback: 0 },
  maintenance: { maintenance: 1 },
  fresh: { fresh: Input.All },
};

/** Numbers with a unit: the reading they set, and the core's units in one of theirs. */
const CHANGE_UNITS: { readonly [unit: string]: readonly [keyof Changes, number] } = {
  rpm: ['rpm', 1],
  hPa: ['boostHpa', 1],
  C: ['chargeDc', 10],
  'C-ambient': ['ambientDc', 10],
  '%': ['humidityPm', 10],
  kmh: ['speedDkmh', 10],
  V: ['supplyMv', 1000],
  L: ['level', 1000000],
};

/** Reads one line of the notation; throws an Error that names the word it does not know. */
export function parseLine(line: string): Moment {
  const parts = /^\s*([\d.]+)(ms|s):(.*?)(?:->(.*))?$/.exec(line);
  if (!parts) throw new Error("'" + line + "' does not begin with a time such as 1.5s: or 120ms:");
  const factor = parts[2] === 's' ? 1000 : 1;
  const changes: Changes = {};
  for (const word of words(parts[3])) Object.assign(changes, parseChange(word));
  return { atMs: Math.round(Number(parts[1]) * factor), changes, expected: words(parts[4]) };
}

function words(text = ''): string[] {
  return text.split(/\s+/).filter((word) => word !== '');
}

/** `stale=charge` stops that input's refreshing; `charge=jump` is a fault its source knows. */
function parseChange(word: string): Changes {
  const known = CHANGE_WORDS[word];
  if (known) return known;
  const number = /^(-?[\d.]+)([a-zA-Z%-]+)$/.exec(word);
  const unit = number ? CHANGE_UNITS[number[2] ?? ''] : undefined;
  if (number && unit) return { [unit[0]]: Math.round(Number(number[1]) * unit[1]) };
  const [name, value] = word.split('=');
  const stale = INPUTS.findIndex((input) => input === value);
  if (name === 'stale' && stale >= 0) return { fresh: Input.All & ~(1 << stale) };
  const input = INPUTS.find((one) => one === name);
  const fault = HEALTH_WORDS.find((one) => one === value);
  if (input && fault) return { faults: faultBits(input, fault) };
  throw new Error("'" + word + "' is no change of readings");
}

/** What really holds, in the terms of the expected word. */
function describe(row: Row, word: string): string {
  if (word === 'pump' || word === 'dry') return row.pump === 1 ? 'pump' : 'dry';
  if (word === 'closed' || word === 'open') return row.enable === 1 ? 'closed' : 'open';
  const [name, value] = word.split('=');
  if (name === 'lamp') return 'lamp=' + row.lamp;
  const input = INPUTS.find((one) => one === name);
  if (input && value !== undefined) return name + '=' + healthOf(row.health, input);
  const id = word.slice(1);
  if (/^[+-]/.test(word) && CUTOFF_IDS.includes(id)) {
    return (row.cutoffs.includes(id) ? '+' : '-') + id;
  }
  if (REASON_IDS.includes(word)) return row.reason;
  throw new Error("'" + word + "' is nothing a tick can show");
}
