/**
 * THE event table, and the ring in which the core leaves the latest of them. An event is three
 * integers: id, argument, time. Whoever drives the core reads the ring after each tick by the
 * growth of `total`; the recorder stores events, docs and summaries print their sentences.
 */
import { INT_MAX, INT_MIN, TIME_MASK } from './integer.js';
import { TIME, type Fields } from './fields.js';

export const enum Event {
  CutoffBegan = 0,
  CutoffEnded = 1,
  SprayBegan = 2,
  SprayEnded = 3,
  PressDropped = 4,
  Refilled = 5,
  LevelApart = 6,
  Latched = 7,
  LatchCleared = 8,
  StageBegan = 9,
  StageEnded = 10,
  TankUnknown = 11,
  ReferencePressure = 12,
}

export interface EventRow {
  readonly id: string;
  readonly severity: 'note' | 'warning' | 'fault';
  /** What the argument is: a cutoff's bit, a spray kind, a reason, or a number with its unit. */
  readonly argument: 'cutoff' | 'kind' | 'reason' | 'ms' | 'ul' | 'hpa' | 'none';
  /** `{}` stands for the argument in words. */
  readonly sentence: string;
}

/** Rows by the value of `Event`. */
export const EVENTS: readonly EventRow[] = [
  { id: 'cutoff-began', severity: 'warning', argument: 'cutoff', sentence: 'cutoff {} began' },
  { id: 'cutoff-ended', severity: 'note', argument: 'cutoff', sentence: 'cutoff {} let go' },
  { id: 'spray-began', severity: 'note', argument: 'kind', sentence: '{} spray began' },
  { id: 'spray-ended', severity: 'note', argument: 'ms', sentence: 'spray ended after {}' },
  {
    id: 'press-dropped',
    severity: 'note',
    argument: 'reason',
    sentence: 'the button was pressed and nothing sprayed: {}',
  },
  { id: 'refilled', severity: 'note', argument: 'ul', sentence: 'tank refilled, estimate {}' },
  {
    id: 'level-apart',
    severity: 'warning',
    argument: 'ul',
    sentence: 'the level gauge and the estimate are apart by {}',
  },
  { id: 'latched', severity: 'fault', argument: 'cutoff', sentence: 'cutoff {} latched' },
  {
    id: 'latch-cleared',
    severity: 'note',
    argument: 'cutoff',
    sentence: 'the latch of cutoff {} was cleared',
  },
  { id: 'stage-began', severity: 'note', argument: 'none', sentence: 'stage switch closed' },
  { id: 'stage-ended', severity: 'note', argument: 'none', sentence: 'stage switch opened' },
  {
    id: 'tank-unknown',
    severity: 'warning',
    argument: 'none',
    sentence: 'no stored account: the estimate starts at the reserve until a refill is told',
  },
  {
    id: 'reference-pressure',
    severity: 'note',
    argument: 'hpa',
    sentence: 'ambient pressure for boost is {}',
  },
];

/** Rows of the table; a number of its own, so that a device carries none of the table's texts. */
export const EVENT_COUNT = 13;

/** How many events the ring holds; a power of two. */
export const EVENT_RING = 16;

export interface EventState {
  /** Events so far, under the time mask; the next one goes to this index modulo the ring. */
  total: number;
  readonly ids: number[];
  readonly details: number[];
  readonly timesMs: number[];
}

export const EVENT_FIELDS: Fields<EventState> = {
  total: TIME,
  ids: [0, EVENT_COUNT - 1],
  details: [INT_MIN, INT_MAX],
  timesMs: TIME,
};

/** An array of `count` zeros. */
export function makeZeros(count: number): number[] {
  const zeros: number[] = [];
  for (let index = 0; index < count; index++) zeros[index] = 0;
  return zeros;
}

/** The record as a core begins with it. */
export function makeEvents(): EventState {
  return {
    total: 0,
    ids: makeZeros(EVENT_RING),
    details: makeZeros(EVENT_RING),
    timesMs: makeZeros(EVENT_RING),
  };
}

/** Leaves one event in the ring; the oldest gives way. */
export function note(state: EventState, id: Event, detail: number, nowMs: number): void {
  const index = state.total & (EVENT_RING - 1);
  state.ids[index] = id;
  state.details[index] = detail;
  state.timesMs[index] = nowMs;
  state.total = (state.total + 1) & TIME_MASK;
}
