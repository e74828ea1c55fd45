/**
 * A tick allocates nothing: in V8, on compiled files, N ticks and 2N ticks leave the heap alike. The
 * small engines are counted by their own allocators in test/conformance and test/boards. The count
 * itself is in allocation-count.mjs, run in a process of its own, where nothing else allocates.
 */
import { execFileSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';

const COUNT = fileURLToPath(new URL('allocation-count.mjs', import.meta.url));
const DIST = fileURLToPath(new URL('../../dist', import.meta.url));
/** What the look at the heap costs by itself; one number boxed in a tick would be 800 KB. */
const LOOK_BYTES = 8192;

it.each(['demo:hot', 'demo:faults'])('%s: N ticks and 2N ticks allocate alike', (demo) => {
  const flags = ['--expose-gc', '--max-semi-space-size=256'];
  const printed = execFileSync(process.execPath, [...flags, COUNT, DIST, demo], {
    encoding: 'utf8',
  });
  const bytes = JSON.parse(printed) as { once: number; twice: number };
  expect(bytes.once).toBeLessThan(LOOK_BYTES);
  expect(bytes.twice).toBeLessThan(LOOK_BYTES);
});
