/**
 * What a search is, as the head of its results: everything the results depend on goes into one hash, so
 * that parts, kept results and a later search are joined only if they belong together.
 */
import { createHash } from 'node:crypto';
import { version } from '../version.js';
import type { WorkTask } from './evaluator.js';
import type { Plan } from './plan.js';
import { RESULTS_KIND, RESULTS_VERSION, type Head } from './results.js';
import type { Space } from './space.js';

/** The head of part `shard` of a search. */
export function makeHead(
  space: Space,
  plan: Plan,
  task: WorkTask,
  shard: readonly [number, number],
): Head {
  const tracks = task.tracks.get(space.today.lateAfterMs) ?? [];
  const vary = space.variations.map(({ row, values }): [string, readonly number[]] => [
    row.name,
    values,
  ]);
  const asked = {
    loop: tracks.some((track) => 'model' in track) ? ('closed' as const) : ('open' as const),
    traces: tracks.map(({ name }) => name),
    vary: Object.fromEntries(vary),
    targetDc: tracks[0]?.targetDc ?? 0,
    search: plan.kind,
    seed: plan.seed,
    first: plan.first,
    refining: plan.refining,
    refused: plan.refused,
    outside: plan.outside,
  };
  const hash = createHash('sha256');
  hash.update(
    JSON.stringify([version(), RESULTS_VERSION, asked, space.today, task.tankUl ?? null]),
  );
  for (const [lateAfterMs, list] of task.tracks) {
    for (const track of list) {
      const { calibration, between, entries, ticks } = track;
      hash.update(JSON.stringify([lateAfterMs, calibration, between, ticks])).update(entries);
      // The dry charge stands for the air, the speed and the start, the car for its nozzles too.
      if ('model' in track) {
        hash.update(JSON.stringify(track.model.driven.car)).update(track.model.dryDc);
      }
    }
  }
  return {
    kind: RESULTS_KIND,
    version: RESULTS_VERSION,
    smirr: version(),
    job: hash.digest('hex'),
    shard,
    ...asked,
  };
}
