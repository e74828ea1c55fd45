/** docs/course.md shows a course that is read, driven and replayed. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { defaultCar } from '../../../host-sim/car/layout.js';
import { driveCourse } from '../../../host-sim/course/drive.js';
import { parseCourse } from '../../../host-sim/course/read.js';

const PAGE = readFileSync(
  fileURLToPath(new URL('../../../docs/course.md', import.meta.url)),
  'utf8',
);

describe('docs/course.md', () => {
  it('shows a course file that can be driven', () => {
    const example = /```yaml\n([\s\S]*?)```/u.exec(PAGE)?.[1] ?? '';
    const trace = driveCourse(defaultCar(), parseCourse(example, 'the example'));
    expect(trace.name).toBe('Larch Hill');
    const seconds = trace.timeMs[trace.timeMs.length - 1] / 1000;
    expect(seconds).toBeGreaterThan(100);
    expect(seconds).toBeLessThan(200);
  });
});
