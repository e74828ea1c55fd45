/**
 * How much each setting matters, from the runs of the first pass, which fill the space evenly: the share
 * of the variance of water and of heat that goes with the setting alone. That is the correlation ratio,
 * an estimate of the first-order index (I. M. Sobol', Mathematical Modelling and Computational
 * Experiment 1(4), 1993; A. Saltelli et al., Global Sensitivity Analysis, 2008, ch. 1). What is left of
 * 1 is interplay. Sums are exact whole numbers, so their order does not matter.
 */
import type { Measure } from './measure.js';
import type { Point, Space } from './space.js';

/** Values of a setting that are looked at one by one; more are put together. */
const GROUPS_MAX = 12;

export type Quantity2 = 'water' | 'heat';

export interface Effect {
  readonly name: string;
  /** Shares of the variance, 0 to 1; 0 where nothing varies. */
  readonly water: number;
  readonly heat: number;
  /** Mean water (ul) and heat of the runs at the setting's lowest and highest values. */
  readonly lowest: { readonly value: number; readonly waterUl: number; readonly heat: number };
  readonly highest: { readonly value: number; readonly waterUl: number; readonly heat: number };
}

interface Group {
  runs: number;
  readonly sums: Record<Quantity2, bigint>;
}

export class Effects {
  private readonly space: Space;
  private readonly groups: readonly (readonly Group[])[];
  private readonly all: Group = { runs: 0, sums: { water: 0n, heat: 0n } };
  private readonly squares: Record<Quantity2, bigint> = { water: 0n, heat: 0n };

  constructor(space: Space) {
    this.space = space;
    this.groups = space.variations.map(({ values }) =>
      Array.from({ length: Math.min(GROUPS_MAX, values.length) }, () => ({
        runs: 0,
        sums: { water: 0n, heat: 0n },
      })),
    );
  }

  /** Adds a run of the first pass. */
  add(point: Point, { waterUl, heat }: Measure): void {
    const values = { water: BigInt(waterUl), heat: BigInt(heat) };
    const own = this.groups.map((groups, place) => {
      const count = this.space.variations[place].values.length;
      return groups[Math.floor((point[place] * groups.length) / count)];
    });
    for (const group of [this.all, ...own]) {
      group.runs++;
      group.sums.water += values.water;
      group.sums.heat += values.heat;
    }
    this.squares.water += values.water * values.water;
    this.squares.heat += values.heat * values.heat;
  }

  /** Every varied setting, the one that matters most first. */
  list(): Effect[] {
    const effects = this.space.variations.map(({ row, values }, place): Effect => {
      const groups = this.groups[place].filter(({ runs }) => runs > 0);
      const of = (group: Group | undefined, value: number) => ({
        value,
        waterUl: mean(group, 'water'),
        heat: mean(group, 'heat'),
      });
      return {
        name: row.name,
        water: this.share(groups, 'water'),
        heat: this.share(groups, 'heat'),
        lowest: of(groups[0], values[0]),
        highest: of(groups[groups.length - 1], values[values.length - 1]),
      };
    });
    return effects.sort((a, b) => Math.max(b.water, b.heat) - Math.max(a.water, a.heat));
  }

  /** Variance of the groups' means over the variance of all, less what chance alone would give. */
  private share(groups: readonly Group[], of: Quantity2): number {
    const runs = this.all.runs;
    if (runs < 2) return 0;
    const whole = Number(this.squares[of]) - Number(this.all.sums[of]) ** 2 / runs;
    if (whole <= 0) return 0;
    const between =
      groups.reduce((sum, group) => sum + Number(group.sums[of]) ** 2 / group.runs, 0) -
      Number(this.all.sums[of]) ** 2 / runs;
    const byChance =
      runs > groups.length ? ((whole - between) * (groups.length - 1)) / (runs - groups.length) : 0;
    return Math.min(1, Math.max(0, (between - byChance) / whole));
  }
}

function mean(group: Group | undefined, of: Quantity2): number {
  return group === undefined || group.runs === 0 ? 0 : Number(group.sums[of]) / group.runs;
}
