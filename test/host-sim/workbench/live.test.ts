/**
 * What is made of looks at a controller: held against the run that the looks were taken of, and against a
 * replay of what was recorded. And what the server says to a controller while it is watched: it asks, and
 * nothing else.
 */
import { describe, expect, it } from 'vitest';
import { calibrationForReadings, LevelKind } from '../../../controller/calibration.js';
import { Input } from '../../../controller/readings.js';
import { initialSettings } from '../../../controller/settings-check.js';
import { Fault } from '../../../host-sim/fault.js';
import type { Carried, Device } from '../../../host-sim/link/device.js';
import { MessageType } from '../../../host-sim/link/messages.js';
import { drive } from '../../../host-sim/replay/drive.js';
import { parseTrace } from '../../../host-sim/trace/parse.js';
import { agreementOf } from '../../../host-sim/workbench/agreement.js';
import { watchDevice } from '../../../host-sim/workbench/live.js';
import { traceCsv } from '../../../host-sim/workbench/live-csv.js';
import { runOfLooks, traceOfLooks } from '../../../host-sim/workbench/live-run.js';
import type { LiveLine } from '../../../host-sim/workbench/opened.js';
import { looksAt } from './looks.js';

const settings = initialSettings();
const NAMES = { name: 'live', settings, settingsName: 'demo' };

describe.each(['demo:hot', 'demo:faults'] as const)('looks at %s', (demo) => {
  const every = looksAt(demo, settings, 1);
  const some = looksAt(demo, settings, 4);
  const trace = traceOfLooks(some.looks, 'live');
  const device = runOfLooks(some.looks, trace, NAMES);

  it('are the run itself, if they come in every tick', () => {
    const { run, looks } = every;
    const seen = runOfLooks(looks, traceOfLooks(looks, 'live'), NAMES);
    expect(seen.spans).toEqual(run.spans);
    expect(seen.cutoffs).toEqual(run.cutoffs);
    expect(seen.sprays.map(({ fromMs, toMs, kind }) => [fromMs, toMs, kind])).toEqual(
      run.sprays.map(({ fromMs, toMs, kind }) => [fromMs, toMs, kind]),
    );
    expect([seen.ticks, seen.chargeMaxDc, seen.tankEndUl]).toEqual([
      run.ticks,
      run.chargeMaxDc,
      run.tankEndUl,
    ]);
    expect(Object.fromEntries(seen.reasonSeconds)).toEqual(
      Object.fromEntries([...run.reasonSeconds].map(([id, s]) => [id, expect.closeTo(s, 6)])),
    );
  });

  it('tell sprays, water and where the time went, if they come every fourth tick', () => {
    const { run } = some;
    expect(device.sprays).toHaveLength(run.sprays.length);
    expect(device.waterUl).toBeCloseTo(run.waterUl - (run.tankStartUl - ulAtFirst()), -1);
    for (const [id, seconds] of device.reasonSeconds) {
      const changes = run.spans.filter(({ reason }) => reason === id).length;
      expect(Math.abs(seconds - (run.reasonSeconds.get(id) ?? 0))).toBeLessThanOrEqual(
        0.08 * (2 * changes + 1),
      );
    }
    function ulAtFirst() {
      return Math.round(some.looks[0].tankL * 1e6);
    }
  });

  it('replay to what the controller did, and say where other settings part from it', () => {
    const host = drive(trace, { settings, settingsName: 'demo', tankUl: device.tankStartUl });
    expect(agreementOf(device, host).share).toBeGreaterThan(0.97);
    const other = drive(trace, {
      settings: { ...settings, tempOnDc: settings.tempOnDc + 60 },
      settingsName: 'other',
    });
    const { share, first } = agreementOf(device, other);
    expect(share).toBeLessThan(0.97);
    expect(first?.device).not.toBe(first?.host);
  });

  it('are saved as a file that reads back to the same columns', () => {
    const read = parseTrace(new TextEncoder().encode(traceCsv(trace)), 'recorded.csv', {});
    expect(read.timeMs).toEqual(trace.timeMs);
    expect(read.columns).toEqual(trace.columns);
    expect(read.faults).toEqual(trace.faults);
  });
});

describe('agreementOf', () => {
  it('is whole for a run and itself', () => {
    const { run } = looksAt('demo:hot', settings, 100);
    expect(agreementOf(run, run)).toEqual({ share: 1, first: undefined });
  });
});

describe('watchDevice', () => {
  const calibration = calibrationForReadings(Input.All, LevelKind.Switch);
  const carried = { settings, calibration } as unknown as Carried;
  const answer = new DataView(new ArrayBuffer(1 + 4 * (2 + 21 + 8)));

  /** A controller that answers `count` times and is then pulled out; what it was told is kept. */
  function stub(count: number) {
    const said: string[] = [];
    const pulled = new Fault('E-LINK-03', 'the connection is lost');
    const client = {
      demand: (_what: string, type: number) => {
        said.push(`ask ${type}`);
        return said.length > count ? Promise.reject(pulled) : Promise.resolve(answer);
      },
      wait: () => new Promise<void>((resolve) => setImmediate(resolve)),
      close: () => Promise.resolve(void said.push('close')),
    };
    return { said, device: { name: 'stub', client } as unknown as Device };
  }

  function until(condition: () => boolean): Promise<void> {
    return new Promise((resolve) => {
      const look = () => (condition() ? resolve() : setImmediate(look));
      look();
    });
  }

  it('asks for its status and never says anything else, then says why it ended', async () => {
    const { said, device } = stub(5);
    const live = watchDevice(device, carried);
    const lines: LiveLine[] = [];
    live.listen((line) => lines.push(line));
    await until(() => lines.some((line) => 'trouble' in line));
    expect(new Set(said)).toEqual(new Set([`ask ${MessageType.Status}`]));
    expect(lines.filter((line) => 'look' in line)).toHaveLength(5);
    const trouble = { code: 'E-LINK-03', sentence: 'the connection is lost' };
    expect(lines.at(-1)).toEqual({ trouble });
    const late: LiveLine[] = [];
    live.listen((line) => late.push(line));
    expect(late).toEqual([{ trouble }]);
    await live.close();
    expect(said.at(-1)).toBe('close');
  });

  it('asks nothing while nobody listens', async () => {
    const { said, device } = stub(50);
    const live = watchDevice(device, carried);
    for (let turn = 0; turn < 20; turn += 1) await new Promise((resolve) => setImmediate(resolve));
    expect(said).toEqual([]);
    const stop = live.listen(() => undefined);
    await until(() => said.length > 3);
    stop();
    const before = said.length;
    for (let turn = 0; turn < 20; turn += 1) await new Promise((resolve) => setImmediate(resolve));
    expect(said.length).toBeLessThanOrEqual(before + 1);
    await live.close();
  });
});
