/**
 * `replay --check`: the properties over a trace. The demos hold; a core whose pump goes on against a
 * cutoff is told, with the moment and the sentence.
 */
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import { calibrationForReadings } from '../../../controller/calibration.js';
import { create, tick } from '../../../controller/core.js';
import { LIMITS } from '../../../controller/limits.js';
import { Input } from '../../../controller/readings.js';
import { initialSettings } from '../../../controller/settings-check.js';
import { Checker, checkText } from '../../../host-sim/prove/check.js';
import { goodReadings } from '../../../host-sim/prove/plan.js';
import { checkSection } from '../../../host-sim/report/check.js';
import { smirr } from '../smirr.js';

describe('replay --check', () => {
  it.each(['demo:hot', 'demo:wet', 'demo:faults'])('holds on %s', async (demo) => {
    const { exit, out } = await smirr('replay', demo, '--check', '--json');
    expect(exit).toBe(0);
    const { check } = JSON.parse(out) as { check: { violated: unknown[]; held: number } };
    expect(check.violated).toEqual([]);
    expect(check.held).toBeGreaterThan(3);
  });

  it('holds on a replay from a boot as well', async () => {
    const { exit, out } = await smirr('replay', 'demo:hot', '--check', '--from-boot');
    expect(exit).toBe(0);
    expect(out).toMatch(/check: \d+ properties held in all of 8998 ticks/u);
  });

  it('stands on the page', async () => {
    const file = path.join(mkdtempSync(path.join(tmpdir(), 'smirr-check-')), 'wet.html');
    const { exit, out } = await smirr('replay', 'demo:wet', '--check', '--html', file);
    expect(exit).toBe(0);
    const page = readFileSync(file, 'utf8');
    rmSync(path.dirname(file), { recursive: true });
    const held = /check: (\d+) properties held/u.exec(out)![1];
    expect(page).toContain(`${held}\u00a0properties held throughout; none was violated.`);
    expect(page).toMatch(/<summary>\d+\u00a0properties not shown by this run<\/summary>/u);
    expect(page).toContain('Their condition never came: ');
    expect(out).toMatch(/^not shown: [a-z]/mu);
  });

  it('tells what is violated, and when', () => {
    const settings = initialSettings();
    const core = create(settings, calibrationForReadings(Input.All & ~Input.Feedback), LIMITS);
    const readings = { ...goodReadings(settings, false), arm: 0 };
    const checker = new Checker(undefined);
    for (let ms = 0; ms < 200; ms += 20) {
      readings.nowMs = ms;
      tick(core, readings);
      // What no core of ours does: it sprays while disarmed.
      if (ms === 100) core.state.output.pump = 1;
      checker.see(core, readings, ms);
      core.state.output.pump = 0;
    }
    const { violated } = checker.result;
    expect(violated.map(({ property }) => property)).toContain('disarmed');
    expect(violated.every(({ atMs }) => atMs >= 100)).toBe(true);
    const text = checkText(checker.result);
    expect(text).toContain('violated at 0.10 s: disarmed. When the arm switch is open');
    const { notShown } = checker.result;
    expect(text.replace(/\n */gu, ' ')).toContain(`not shown: ${notShown.join('; ')} `);
    expect(notShown).toContain('freezing');
    const page = checkSection(checker.result, ', A');
    expect(page).toContain('<h2>Check against the contract, A</h2>');
    expect(page).toMatch(/<b>Violated at 0:00\.10: disarmed\.<\/b> When the arm switch is open/u);
    expect(page).toContain(`condition never came: ${notShown.slice(0, 3).join('; ')}`);
  });

  it('does not go with a board, which compares', async () => {
    const { exit, err } = await smirr('replay', 'demo:wet', '--on', 'pico', '--check');
    expect(exit).toBe(2);
    expect(err).toContain('--check does not go with --on');
  });
});
