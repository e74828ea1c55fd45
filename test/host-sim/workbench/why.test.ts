/**
 * "Why not here?": the order of reasons. The verdicts are held against the run that the same trace gives
 * (the reason in force, the cutoffs in force), the numbers against the trace and the settings.
 */
import { describe, expect, it } from 'vitest';
import { REASONS } from '../../../controller/reasons.js';
import { initialSettings } from '../../../controller/settings-check.js';
import { drive } from '../../../host-sim/replay/drive.js';
import { demoTrace, type DemoName } from '../../../host-sim/trace/demo.js';
import { explainAt } from '../../../host-sim/workbench/explain.js';

const options = { settings: initialSettings(), settingsName: 'initial settings' };
const ORDER = REASONS.filter(({ group }) => group !== 'spray').map(({ id }) => id);

describe.each<DemoName>(['demo:hot', 'demo:faults'])('why not here, on %s', (name) => {
  const trace = demoTrace(name);
  const run = drive(trace, options);

  it('names the reason of the run for a tick of every kind of reason, and every rule in order', () => {
    for (const id of new Set(run.spans.map(({ reason }) => reason))) {
      const span = run.spans.find(({ reason }) => reason === id)!;
      const { reason, sprays, steps, atMs, sentence } = explainAt(trace, options, span.fromMs);
      expect([reason, atMs]).toEqual([id, span.fromMs]);
      expect(steps.map((step) => step.id)).toEqual(ORDER);
      expect(sprays).toBe(id.startsWith('spray-'));
      const stopped = steps.filter(({ verdict }) => verdict === 'stopped').map((step) => step.id);
      expect(stopped).toEqual(sprays ? [] : [id]);
      expect(sentence).toContain(sprays ? 'it sprays' : 'it does not spray because');
      if (sprays) expect(steps.filter(({ verdict }) => verdict === 'also')).toEqual([]);
    }
  });

  it('says of no rule behind the one that stopped it that it stopped it first', () => {
    for (const { fromMs } of run.spans.filter((_, index) => index % 7 === 0)) {
      const { steps } = explainAt(trace, options, fromMs);
      const at = steps.findIndex(({ verdict }) => verdict === 'stopped');
      const before = steps.slice(0, Math.max(0, at));
      expect(before.every(({ verdict, group }) => verdict === 'passed' || group === 'cutoff')).toBe(
        true,
      );
      expect(before.some(({ verdict }) => verdict === 'also')).toBe(false);
    }
  });
});

describe('the numbers beside a reason', () => {
  const trace = demoTrace('demo:hot');
  const run = drive(trace, options);
  const stepAt = (reason: string, part = 0) => {
    const span = run.spans.find((each) => each.reason === reason && each.toMs - each.fromMs > 400)!;
    const atMs = span.fromMs + part * 20;
    const explained = explainAt(trace, options, atMs);
    return { atMs, step: explained.steps.find(({ id }) => id === reason)! };
  };
  const plain = (text: string) => text.replace(/\u00a0/gu, ' ');

  it('of boost under boostOn are the value of the row, the threshold and what lies between', () => {
    const { atMs, step } = stepAt('no-boost', 5);
    const row = trace.timeMs.findLastIndex((ms) => ms <= atMs);
    const bar = (trace.columns.boost![row] / 1000).toFixed(2).replace('-', '\u2212');
    const short = (0.3 - trace.columns.boost![row] / 1000).toFixed(2);
    expect(plain(step.measured)).toBe(`${bar} bar`);
    expect(plain(step.against)).toBe('at least 0.30 bar');
    expect(plain(step.margin)).toBe(`${short} bar too little`);
  });

  it('of a rest count down by the time that passes', () => {
    const left = (part: number) => Number.parseFloat(stepAt('resting', part).step.margin);
    expect(left(1) - left(11)).toBeCloseTo(0.2, 1);
    expect(plain(stepAt('resting', 1).step.margin)).toMatch(/^\d+\.\d s still to rest$/u);
  });

  it('of a moment beyond the run are those of its nearest tick', () => {
    expect(explainAt(trace, options, -500).atMs).toBe(0);
    expect(explainAt(trace, options, 1e9).atMs).toBe((run.ticks - 1) * 20);
  });
});
