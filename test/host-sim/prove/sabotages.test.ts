/**
 * Deliberate breakages: each one-line sabotage of the compiled core is caught by the ways of `prove
 * --quick`, edges first, stopping at the first violation. The core as it is passes the same. Compiled
 * files are used throughout (`npm test` builds them).
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { Readable } from 'node:stream';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type * as TryOut from '../../../host-sim/prove/try-out.js';
import type * as TallyModule from '../../../host-sim/prove/tally.js';
import type { Subject } from '../../../host-sim/prove/subject.js';
import type * as SettingsCheck from '../../../controller/settings-check.js';
import type { Calibration } from '../../../controller/calibration.js';
import { readCalibration } from '../../../host-sim/calibration/read.js';
import type * as Codes from '../../../host-sim/prove/codes.js';
import type * as Refused from '../../../host-sim/prove/refused.js';
import { brokenSubject, subjectIn } from './broken.js';
import { compiled, DIST } from './compiled.js';
import { SABOTAGES } from './sabotages.js';

let folder = '';
let tryOut: typeof TryOut;
let tallies: typeof TallyModule;
let codes: typeof Codes;
let refused: typeof Refused;
let calibration: Calibration;
let settings: ReturnType<typeof SettingsCheck.initialSettings>;

beforeAll(async () => {
  folder = mkdtempSync(path.join(tmpdir(), 'smirr-sabotage-'));
  tryOut = await compiled('host-sim/prove/try-out.js');
  tallies = await compiled('host-sim/prove/tally.js');
  const check = await compiled<typeof SettingsCheck>('controller/settings-check.js');
  settings = check.initialSettings();
  codes = await compiled('host-sim/prove/codes.js');
  refused = await compiled('host-sim/prove/refused.js');
  ({ calibration } = await readCalibration('boards/pico/calibration.yaml', Readable.from([])));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Edges first, then search, until the first violation; the property that broke, or ''. */
function hunt(subject: Subject): string {
  const tally = new tallies.Tally();
  const pace = { progress: () => undefined, isOver: () => tally.violations.length > 0 };
  const players = tryOut.playersOf(subject);
  tryOut.tryEdges(players, settings, tally, pace);
  if (!pace.isOver()) {
    const rows = codes.tryCodes(subject, settings, calibration);
    tally.violations.push(
      ...codes.codeViolations(rows, settings),
      ...refused.refusedViolations(refused.tryRefused(subject, settings), settings),
    );
  }
  tryOut.trySearch(players, settings, 1, { random: 100, rounds: 0 }, tally, pace);
  return tally.violations[0]?.property ?? '';
}

describe('sabotages of the core', () => {
  it('are at least thirty', () => {
    expect(SABOTAGES.length).toBeGreaterThanOrEqual(30);
  });

  it('are none in the core as it is: nothing is found in it', async () => {
    expect(hunt(await subjectIn(path.join(DIST, 'controller')))).toBe('');
  });

  it.each(SABOTAGES.map((sabotage, index) => ({ ...sabotage, index })))(
    'caught: $name',
    async (sabotage) => {
      const place = path.join(folder, String(sabotage.index));
      expect(hunt(await brokenSubject(place, sabotage))).not.toBe('');
    },
  );
});
