/**
 * A day of competition as a record: its air, its legs in order, and the parts that are there to carry
 * and spray the water. read.ts makes it of a file. Units are in the names; shares are of one.
 */
import { STAGE_KINDS as KINDS_OF_COURSES, type StageKindName } from '../course/stage.js';
import type { Nozzle } from './nozzle.js';
import type { PumpCurve } from './pump.js';
/** What a stage can be like: the kinds of courses against the clock. */
export const STAGE_KINDS = (Object.keys(KINDS_OF_COURSES) as StageKindName[]).filter(
  (kind): kind is StageKind => kind !== 'road',
);
export type StageKind = Exclude<StageKindName, 'road'>;

/** Air at a place. */
export interface Air {
  readonly ambientDegC: number;
  /** Relative humidity, share of one. */
  readonly humidity: number;
  readonly pressureHpa: number;
}

/** How far off the air may be, both ways. */
export interface AirSpread {
  readonly ambientK: number;
  readonly humidity: number;
}

interface AnyLeg {
  readonly name: string;
  readonly minutes: number;
  readonly air: Air;
}

/** Driven against the clock. */
export interface StageLeg extends AnyLeg {
  readonly leg: 'stage';
  readonly lengthKm: number;
  readonly kind: StageKind;
}

/** Driven on open roads to the next place. */
export interface RoadLeg extends AnyLeg {
  readonly leg: 'road';
  readonly lengthKm: number;
}

/** Time to work on the car. */
export interface ServiceLeg extends AnyLeg {
  readonly leg: 'service';
  /** True if the tank is filled. */
  readonly refill: boolean;
}

/** A regroup, a queue, a break. */
export interface WaitLeg extends AnyLeg {
  readonly leg: 'wait';
}

export type Leg = StageLeg | RoadLeg | ServiceLeg | WaitLeg;

/** What carries and sprays the water; undefined stands for "to be chosen". */
export interface Parts {
  readonly tankL: number | undefined;
  readonly nozzle: Nozzle;
  readonly nozzleCount: number | undefined;
  /** Bore of the nozzle, only to doubt its flow with. */
  readonly boreMm: number | undefined;
  readonly pump: PumpCurve;
  readonly runningA: number;
  readonly inrushA: number;
  readonly inrushMs: number;
  readonly wireLengthM: number;
  readonly wireMm2: number | undefined;
  readonly wireDegC: number;
  /** How much of 12 V may be lost, share. */
  readonly dropMax: number;
  readonly fuseA: number | undefined;
}

/** A day. */
export interface Itinerary {
  readonly name: string;
  readonly date: string | undefined;
  /** Minutes from midnight at which the first leg begins. */
  readonly startMinutes: number | undefined;
  readonly air: Air;
  readonly spread: AirSpread;
  readonly legs: readonly Leg[];
  readonly parts: Parts;
  /** Values that were left out and taken as assumed, by name: "spread.ambient 3 degC". */
  readonly assumed: readonly string[];
}
