/**
 * The properties as data: the contract's numbers agree with the shipped table, every row of the table of
 * cutoffs has its three properties, and each sentence says what it must.
 */
import { describe, expect, it } from 'vitest';
import { calibrationForReadings, LevelKind } from '../../../controller/calibration.js';
import { LIMITS } from '../../../controller/limits.js';
import { Input } from '../../../controller/readings.js';
import { initialSettings, SETTING_RELATIONS } from '../../../controller/settings-check.js';
import { SETTINGS } from '../../../controller/settings.js';
import { CUTOFFS } from '../../../controller/tick/5-cutoffs.js';
import { CONTRACT } from '../../../host-sim/prove/contract.js';
import { edgesFor } from '../../../host-sim/prove/edges.js';
import { RELATIONS } from '../../../host-sim/prove/refused.js';
import { obligationsOf } from '../../../host-sim/prove/properties.js';

const CAR = {
  settings: initialSettings(),
  calibration: calibrationForReadings(Input.All, LevelKind.Switch),
  contract: CONTRACT,
};

describe('the contract, written a second time', () => {
  it.each(Object.entries(CONTRACT))('%s is %d in the shipped table too', (name, value) => {
    expect(LIMITS[name as keyof typeof LIMITS]).toBe(value);
  });
});

it('the relations of settings, written a second time, are those of the shipped table', () => {
  const fieldOf = (name: string) => SETTINGS.find((row) => row.name === name)!.field;
  expect(RELATIONS).toEqual(
    SETTING_RELATIONS.map(({ low, high, mayEqual }) => [fieldOf(low), fieldOf(high), mayEqual]),
  );
});

describe('the properties', () => {
  const { properties, reactions, causes } = obligationsOf(CAR);

  it('have ids of their own and sentences', () => {
    expect(new Set(properties.map(({ id }) => id)).size).toBe(properties.length);
    for (const { id, sentence } of properties) expect(sentence, id).toMatch(/^[A-Z].+\.$/u);
  });

  it.each(CUTOFFS.map(({ id }) => id))('cover %s: it cuts off, it lets go, it stops', (id) => {
    const ids = properties.filter(({ cutoff }) => cutoff === id).map((each) => each.id);
    expect(ids).toEqual([id, `${id} lets go`, `${id} stops`]);
  });

  it('know all 27 causes, each with a reaction', () => {
    expect(causes).toHaveLength(27);
    expect(reactions).toHaveLength(27);
  });

  it('leave no row of the table without an edge', () => {
    const counts = new Map<string, number>();
    for (const { cutoff, plans } of edgesFor(CAR.settings)) {
      counts.set(cutoff, (counts.get(cutoff) ?? 0) + plans.length);
    }
    for (const { id } of CUTOFFS) expect(counts.get(id) ?? 0, id).toBeGreaterThan(0);
  });
});
