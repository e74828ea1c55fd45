/**
 * What the generated outings contain. A property that holds because nothing ever happens would prove
 * nothing: here each reason, each kind of spray, each cutoff of a running car, and each special rule
 * is shown to occur in the population that the properties are judged on. The sample has a fixed seed.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { REASONS } from '../../controller/reasons.js';
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import { outingArbitrary, play } from './trace-arbitrary.js';
import type { Outing } from './trace-arbitrary.js';

interface Population {
  readonly reasons: Map<string, number>;
  readonly cutoffs: Map<string, number>;
  readonly rules: Map<string, number>;
  sprays: number;
}

function add(counts: Map<string, number>, name: string): void {
  counts.set(name, (counts.get(name) ?? 0) + 1);
}

function count(population: Population, outing: Outing): void {
  const s = outing.settings;
  let wasPump = 0;
  let wasDemand = 0;
  play(outing, [
    (seen) => {
      const { output, cutoffs, demand, burst, account } = seen.core.state;
      add(population.reasons, REASONS[output.reason].id);
      for (let bit = 0; bit < CUTOFFS.length; bit++) {
        if ((cutoffs.active & (1 << bit)) !== 0) add(population.cutoffs, CUTOFFS[bit].id);
      }
      if (output.pump === 1 && wasPump === 0) population.sprays++;
      const isEarly = demand.demand === 1 && wasDemand === 0 && s.lookAheadMs !== 0;
      if (isEarly && seen.readings.chargeDc < s.tempOnDc) add(population.rules, 'anticipation');
      if (demand.keptStill === 1) add(population.rules, 'standstill');
      if (demand.keptStill === 1 && output.pump === 1) add(population.rules, 'spray at standstill');
      if (burst.stageLeftMs > 0 && output.pump === 1) add(population.rules, 'spray on a ration');
      if (account.tankUl > s.reserveUl && account.tankUl < s.reserveUl + 1000) {
        add(population.rules, 'close above the reserve');
      }
      if (seen.elapsedMs > 60) add(population.rules, 'late tick');
      if (seen.elapsedMs === 0 && seen.index > 0) add(population.rules, 'repeated time');
      if (cutoffs.latched !== 0) add(population.rules, 'latched');
      wasPump = output.pump;
      wasDemand = demand.demand;
    },
  ]);
}

describe('The generated outings', () => {
  const population: Population = {
    reasons: new Map(),
    cutoffs: new Map(),
    rules: new Map(),
    sprays: 0,
  };
  for (const outing of fc.sample(outingArbitrary(), { numRuns: 160, seed: 20260 })) {
    count(population, outing);
  }

  /** A boot, a bench strap, a broken bundle and a throw do not belong to an outing. */
  const elsewhere = ['spray-service', 'unexpected-reset', 'bad-settings', 'core-fault'];

  it('have each reason', () => {
    const missing = REASONS.map((row) => row.id).filter(
      (id) => !elsewhere.includes(id) && !population.reasons.has(id),
    );
    expect(missing).toEqual([]);
  });

  it('have each kind of spray for many ticks, and many sprays', () => {
    for (const id of ['spray-automatic', 'spray-manual', 'spray-precool']) {
      expect(population.reasons.get(id) ?? 0, id).toBeGreaterThan(200);
    }
    expect(population.sprays).toBeGreaterThan(250);
  });

  it('have each cutoff of a running car', () => {
    const missing = CUTOFFS.map((row) => row.id).filter(
      (id) => !elsewhere.includes(id) && !population.cutoffs.has(id),
    );
    expect(missing).toEqual([]);
  });

  it('have standstill, anticipation, rations, late ticks, repeated times and latches', () => {
    const rules = [
      'anticipation',
      'standstill',
      'spray at standstill',
      'spray on a ration',
      'close above the reserve',
      'late tick',
      'repeated time',
      'latched',
    ];
    expect(rules.filter((rule) => !population.rules.has(rule))).toEqual([]);
  });
});
