/**
 * A worker thread of the pool: gets the task once, then batches of candidates, and sends back what each
 * comes to. It ends when the pool ends it.
 */
import { parentPort, workerData } from 'node:worker_threads';
import '../replay/inlining.js';
import { makeEvaluator, type WorkTask } from './evaluator.js';
import type { Batch, BatchDone } from './pool.js';

const evaluate = makeEvaluator(workerData as WorkTask);
const port = parentPort;
port?.on('message', ({ first, changes }: Batch) => {
  port.postMessage({ first, measures: changes.map(evaluate) } satisfies BatchDone);
});
