/**
 * One candidate in the closed loop against a whole replay of the same trace in the same model, which feeds,
 * drives and counts by itself; and the command with `--car`, which says which loop it is.
 */
import { describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import { REASONS } from '../../../controller/reasons.js';
import { defaultCar } from '../../../host-sim/car/layout.js';
import { ModelTrace } from '../../../host-sim/closed-loop/loop.js';
import { wonK, type ModelRun } from '../../../host-sim/closed-loop/model-run.js';
import { ZERO_K } from '../../../host-sim/plant/air.js';
import { drive } from '../../../host-sim/replay/drive.js';
import { demoTrace } from '../../../host-sim/trace/demo.js';
import { evaluateClosed, makeModelTrack } from '../../../host-sim/tune/closed.js';
import type { Won } from '../../../host-sim/tune/measure.js';
import { smirr } from '../smirr.js';

const TARGET_DC = 450;

describe('one run of the sweep in the closed loop', () => {
  const trace = demoTrace('demo:hot');
  const settings = initialSettings();
  const options = { car: defaultCar(), carName: 'default', hasGears: false, weather: {} };
  const model = ModelTrace.of(trace, options);
  const track = makeModelTrack(model, 'hold', settings.lateAfterMs, TARGET_DC);
  const measure = evaluateClosed(track, settings);
  const won = measure.won as Won;

  it('comes to the same as a replay with --car', () => {
    const run = drive(trace, { settings, settingsName: '', between: 'hold', model });
    expect(measure.sprayTicks * 0.02).toBeCloseTo(run.spraySeconds, 9);
    expect(measure.bursts).toBe(run.sprays.length);
    const held = REASONS.flatMap(({ id }, i) =>
      measure.reasonTicks[i] > 0 ? [[id, (measure.reasonTicks[i] * 20) / 1000]] : [],
    );
    expect(Object.fromEntries(held)).toEqual(Object.fromEntries(run.reasonSeconds));
    expect(measure.worstDc).toBe(run.chargeMaxDc);
    // The replay's mean counts tempOn itself as hot, and is not rounded to 0.1 K a tick.
    const theirs = wonK(run.model as ModelRun);
    expect(Math.abs(won.wonDc / 10 / won.dryHotTicks - theirs)).toBeLessThan(0.05);
    const mean = (run.model as ModelRun).wet.chargeMeanK;
    expect(won.density / 1000 / won.dryHotTicks).toBeCloseTo(theirs / mean, 3);
  });

  it('without water wins nothing, and its heat is that of the dry charge', () => {
    const dry = evaluateClosed(track, { ...settings, automaticAllowed: 0, manualAllowed: 0 });
    expect(dry.waterUl).toBe(0);
    expect(dry.won).toMatchObject({ density: 0, wonDc: 0 });
    expect(dry.hotTicks).toBe(won.dryHotTicks);
    expect(dry.heat).toBeGreaterThan(measure.heat);
    expect(dry.heat - measure.heat).toBeLessThanOrEqual(won.wonDc);
    const hottest = Math.max(...model.dryRun('hold').sensorK);
    expect(dry.worstDc / 10 + ZERO_K).toBeCloseTo(hottest, 0);
  });

  it('shares what is long with the workers', () => {
    expect(track.model.dryDc.buffer).toBeInstanceOf(SharedArrayBuffer);
    expect(track.entries.buffer).toBeInstanceOf(SharedArrayBuffer);
  });
});

describe('smirr tune --car', () => {
  const ASKED = ['--vary', 'tempOn=45,50degC', '--workers', '1'];

  it('says which loop it is, and what the water won', async () => {
    const { exit, out, err } = await smirr('tune', 'demo:hot', '--car', 'default', ...ASKED);
    expect(exit, err).toBe(0);
    expect(err).toContain('closed loop');
    expect(out).toContain('Closed loop: the charge temperatures are a model’s, of the car default');
    expect(out).not.toContain('Open loop');
    expect(out).toMatch(/sprays +won +density won\n +today .* \d\.\d\d K +\d\.\d %/u);
  });

  it.each([
    [['--weather', '30degC'], 2, '--weather goes with --car'],
    [['--car', 'none.yaml'], 3, 'none.yaml is not there'],
  ])('%j is refused in a sentence', async (args, code, words) => {
    const { exit, err } = await smirr('tune', 'demo:hot', ...ASKED, ...args);
    expect(exit).toBe(code);
    expect(err).toContain(words);
  });
});
