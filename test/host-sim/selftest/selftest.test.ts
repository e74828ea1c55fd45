/**
 * The self-test against the emulated board, as a person would run it: a sound board passes every step, and
 * nothing begins without its straps. What each fault does is in selftest.long.test.ts.
 */
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Board } from '../../../boards/emulator/board.js';
import * as selftest from '../../../host-sim/command/selftest.js';
import type { Fault } from '../../../host-sim/fault.js';
import { STEPS, type StepName } from '../../../host-sim/selftest/steps.js';
import { recordingTerminal } from '../../../host-sim/terminal.js';
import { HAS_CORE, NEEDS_IMAGE } from '../../boards/kit.js';
import { DRY, INPUTS, LAMP, NOW, START, WET, at, titleOf } from './kit.js';

/** Two minutes of the board, for a machine that does other things too. */
const TIMEOUT_MS = 900_000;

let folder: string;
beforeAll(() => void (folder = mkdtempSync(path.join(os.tmpdir(), 'smirr-selftest-'))));
afterAll(() => rmSync(folder, { recursive: true }));

describe.skipIf(!HAS_CORE)(`selftest against the emulated board${NEEDS_IMAGE}`, () => {
  it(
    'a sound board passes every step, and the record has date and fingerprint',
    async () => {
      const out = path.join(folder, 'record.txt');
      const answers = [...START, ...INPUTS, ...LAMP, ...DRY, ...WET];
      const terminal = recordingTerminal({}, `${answers.join('\n')}\n`);
      let board: Board | undefined;
      const connect = at((made) => (board = made));
      const code = await selftest.handler({ port: 'emulator', out }, terminal, connect, NOW);
      expect(terminal.stdout()).not.toMatch(/^(fail|skipped|not tried)/mu);
      expect(code).toBe(0);
      const record = readFileSync(out, 'utf8');
      expect(record).toBe(terminal.stdout());
      expect(record).toMatch(/^Self-test {4}passed\ndate {9}2026-05-02T09:30:00Z\n/u);
      expect(record).toMatch(/\nfingerprint {2}([A-Z2-7]{4}-){3}[A-Z2-7]{4}\n/u);
      for (const step of Object.keys(STEPS) as StepName[]) {
        expect(record).toContain(`pass      ${titleOf(step)}`);
      }
      expect([board?.pins.levels['pump'], board?.pins.isEnableClosed]).toEqual([0, false]);
      expect(board?.circuit.isPumping).toBe(false);
    },
    TIMEOUT_MS,
  );

  it.each([
    { what: 'the bench strap open', options: { isBench: false }, said: 'close the bench strap' },
    {
      what: 'the lock strap closed',
      options: { isLocked: true },
      said: 'the lock strap is closed',
    },
  ])('refused with $what', async ({ options, said }) => {
    const terminal = recordingTerminal();
    const connect = at(() => undefined, options);
    const work = selftest.handler({ port: 'emulator', out: undefined }, terminal, connect, NOW);
    await expect(work).rejects.toMatchObject({ code: 'E-LINK-06', exit: 4 });
    await work.catch((error: unknown) => expect((error as Fault).message).toContain(said));
  });
});
