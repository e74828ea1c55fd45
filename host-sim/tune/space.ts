/**
 * All combinations of the values that are varied, and which of them may be tried. A point is the index
 * of a value for each variation; the settings of a point are today's with those values in their place.
 * Combinations that break a cross-check of the settings are never tried.
 */
import { checkSettings } from '../../controller/settings-check.js';
import type { Settings } from '../../controller/settings.js';
import { mixed } from './random.js';
import type { Variation } from './vary.js';

/** The index of a value for each variation. */
export type Point = readonly number[];

export interface Space {
  /** What is in the car now: what is not varied, and what every candidate is compared with. */
  readonly today: Settings;
  readonly variations: readonly Variation[];
  /** How many combinations there are of the values within their ranges. */
  readonly size: number;
  /** How many more there would be with the values outside their ranges; never tried. */
  readonly outside: number;
}

/** The space of these variations. */
export function makeSpace(today: Settings, variations: readonly Variation[]): Space {
  const product = (of: (variation: Variation) => number) =>
    variations.reduce((all, variation) => all * of(variation), 1);
  const size = product(({ values }) => values.length);
  const asked = product(({ values, outside }) => values.length + outside);
  return { today, variations, size, outside: asked - size };
}

/** Today's settings with the point's values. */
export function settingsAt({ today, variations }: Space, point: Point): Settings {
  const settings = { ...today };
  variations.forEach(({ row, values }, index) => {
    settings[row.field] = values[point[index]];
  });
  return settings;
}

/** Whether the core would run with the point's settings. */
export function isSound(space: Space, point: Point): boolean {
  return checkSettings(settingsAt(space, point)).length === 0;
}

/** Every point in the order of an odometer: the last variation moves fastest. */
export function* gridPoints(space: Space): Generator<Point> {
  const counts = space.variations.map(({ values }) => values.length);
  const point = counts.map(() => 0);
  for (;;) {
    yield [...point];
    let place = counts.length - 1;
    while (place >= 0 && point[place] === counts[place] - 1) point[place--] = 0;
    if (place < 0) return;
    point[place]++;
  }
}

/** Points are told apart by a bit each: 8 MB at most, however many runs there are. */
const MARKED_MAX = 2 ** 26;

/**
 * Which points were drawn already, in memory that does not grow. In a space with more points than bits,
 * several share one: some are then taken for drawn that were not, of which such a space has enough.
 */
export class Drawn {
  private readonly counts: readonly number[];
  private readonly marks: number;
  private readonly bits: Uint8Array;

  constructor(space: Space) {
    this.counts = space.variations.map(({ values }) => values.length);
    this.marks = Math.min(space.size, MARKED_MAX);
    this.bits = new Uint8Array(Math.ceil(this.marks / 8));
  }

  /** Marks the point; false if it was marked before. */
  isNew(point: Point): boolean {
    let index = 0;
    let hash = 0;
    point.forEach((value, place) => {
      index = index * this.counts[place] + value;
      hash = mixed(hash ^ (value + 1));
    });
    if (this.marks === MARKED_MAX) index = hash % MARKED_MAX;
    const [byte, bit] = [index >>> 3, 1 << (index & 7)];
    if ((this.bits[byte] & bit) !== 0) return false;
    this.bits[byte] |= bit;
    return true;
  }
}
