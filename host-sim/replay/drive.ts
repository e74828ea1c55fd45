/**
 * Drives the core through a trace, a tick every 20 ms from the first usable row to the last, gaps
 * included, and gives a `Run`. The same `tick` that the device runs; nothing is decided here.
 */
import type { Calibration } from '../../controller/calibration.js';
import { boot, create, tick, type Core } from '../../controller/core.js';
import { LIMITS } from '../../controller/limits.js';
import { Input, type Readings } from '../../controller/readings.js';
import { REASONS } from '../../controller/reasons.js';
import type { Settings } from '../../controller/settings.js';
import { ClosedLoop, type ModelTrace } from '../closed-loop/loop.js';
import type { Trace } from '../trace/trace.js';
import { chooseBetween, Feed, saysLate, traceCalibration, type Between } from './feed.js';
import { Recorder } from './recorder.js';
import type { CutoffSpan, Run } from './run.js';

const TICK_MS = 20;

export interface DriveOptions {
  readonly settings: Settings;
  readonly settingsName: string;
  /** `--between`; chosen by the trace's median interval if absent, and where frames carry one reading. */
  readonly between?: Between;
  /** `--tank`: the estimate at the start, ul; the full tank if absent. */
  readonly tankUl?: number;
  /** `--from-boot`: start as a device that was just powered on. */
  readonly fromBoot?: boolean;
  /**
   * Closes the loop: the model of `drive`'s trace, whose charge temperature is the plant's. `drive` then
   * takes `model.trace` in place of the recorded one.
   */
  readonly model?: ModelTrace;
  /** Called after every tick, e.g. to write it out. */
  readonly onTick?: (core: Core, readings: Readings, nowMs: number) => void;
}

/** Replays one trace; with `options.model` the trace of that model. */
export function drive(recorded: Trace, options: DriveOptions): Run {
  const trace = options.model?.trace ?? recorded;
  const calibration = traceCalibration(trace);
  const settings = settingsFor(options.settings, calibration);
  const between = chooseBetween(trace, settings.lateAfterMs, options.between);
  const core = startCore(settings, calibration, options);
  const feed = new Feed(trace, between, settings.lateAfterMs);
  const recorder = new Recorder(core);
  const tankStartUl = core.state.account.tankUl;
  const ticks = Math.floor(feed.lastMs / TICK_MS) + 1;
  const loop = options.model && new ClosedLoop(options.model, settings, between);
  runTicks({ core, feed, recorder, loop, onTick: options.onTick }, ticks);
  recorder.finish(ticks * TICK_MS);
  return {
    trace,
    settings: options.settings,
    settingsName: options.settingsName,
    ticks,
    seconds: (ticks * TICK_MS) / 1000,
    between,
    spans: recorder.spans,
    sprays: recorder.sprays,
    cutoffs: recorder.cutoffs,
    events: recorder.events,
    reasonSeconds: reasonSeconds(recorder.reasonTicks),
    tank: recorder.tank,
    tankStartUl,
    tankEndUl: core.state.account.tankUl,
    waterUl: tankStartUl - core.state.account.tankUl,
    spraySeconds: (recorder.sprayTicks * TICK_MS) / 1000,
    aboveOnSeconds: (recorder.aboveOnTicks * TICK_MS) / 1000,
    chargeMaxDc: recorder.chargeDcMax,
    rulesOff: rulesOff(options.settings, calibration, trace),
    notes: [
      ...notes(trace, between, lateMs(recorder.cutoffs) / (ticks * TICK_MS), options.between),
      ...(options.model?.conditions.notes ?? []),
    ],
    ...(loop && { model: loop.result() }),
  };
}

/** Without an ambient input the charge guards against frost; the summary says that it is none. */
export function settingsFor(settings: Settings, calibration: Calibration): Settings {
  if ((calibration.fitted & Input.Ambient) !== 0) return settings;
  return { ...settings, frostSensor: 1 };
}

function startCore(settings: Settings, calibration: Calibration, options: DriveOptions): Core {
  const core = create(settings, calibration, LIMITS, options.tankUl);
  if (options.fromBoot === true) {
    boot(core, {
      powerOn: true,
      afterRunning: false,
      pumpStuckOn: false,
      tankUl: core.state.account.tankUl,
      ambientHpa: 0,
      bench: false,
    });
  }
  return core;
}

/** Those who take part in every tick. */
interface Ticking {
  readonly core: Core;
  readonly feed: Feed;
  readonly recorder: Recorder;
  readonly loop: ClosedLoop | undefined;
  readonly onTick: DriveOptions['onTick'];
}

function runTicks({ core, feed, recorder, loop, onTick }: Ticking, ticks: number): void {
  const readings = feed.readings;
  for (let index = 0; index < ticks; index++) {
    const nowMs = index * TICK_MS;
    feed.at(nowMs);
    if (loop) loop.before(readings);
    tick(core, readings);
    recorder.see(nowMs, readings);
    if (loop) loop.after(core, readings);
    if (onTick) onTick(core, readings, nowMs);
  }
}

/** Seconds by reason, longest first. */
function reasonSeconds(reasonTicks: readonly number[]): Map<string, number> {
  return new Map(
    reasonTicks
      .map((ticks, index): [string, number] => [REASONS[index].id, (ticks * TICK_MS) / 1000])
      .filter(([, seconds]) => seconds > 0)
      .sort((a, b) => b[1] - a[1]),
  );
}

/** The rules that cannot act on this trace, a sentence each. */
function rulesOff(settings: Settings, calibration: Calibration, trace: Trace): string[] {
  const lacks = (input: Input) => (calibration.fitted & input) === 0;
  const off: string[] = [];
  if (lacks(Input.Ambient)) {
    off.push(
      'freezing: no ambient temperature; the charge stands in for it, which is no frost sensor',
    );
  }
  if (lacks(Input.Speed)) {
    off.push('standstill: no vehicle speed; engine speed under 1,500 1/min stands in for it');
  }
  if (lacks(Input.Humidity) && settings.minDepressionDc > 0) {
    off.push('too-humid: no humidity, so minDepression cannot act');
  }
  if (lacks(Input.Level)) off.push('tank-empty: no level, so only the estimate can empty the tank');
  if (!trace.columns.supply) off.push('supply: not recorded; replayed at 13.8 V');
  if (lacks(Input.Feedback)) off.push('pump-circuit: no feedback');
  const driver = (['arm', 'stage', 'button'] as const).filter((name) => !trace.columns[name]);
  if (driver.length > 0) {
    const said = { arm: 'armed', stage: 'in stage mode', button: 'button open' };
    off.push(
      `${driver.join(', ')}: not recorded; replayed ${driver.map((n) => said[n]).join(', ')}`,
    );
  }
  off.push('sensor-lost by a jump or a frozen value: judged on raw codes only');
  return off;
}

/** How long late input forbade spraying, ms: from the first late reading until it has let go. */
function lateMs(cutoffs: readonly CutoffSpan[]): number {
  const late = cutoffs.filter(({ id }) => id === 'late-input');
  return late.reduce((sum, { fromMs, toMs }) => sum + toMs - fromMs, 0);
}

/** What the reader must know first. */
function notes(
  trace: Trace,
  between: Between,
  lateShare: number,
  asked: Between | undefined,
): string[] {
  const list: string[] = [];
  if (between === 'linear') {
    const why = asked ? '' : `, since rows are ${trace.medianMs} ms apart (median)`;
    list.push(
      `Values between rows are interpolated${why}; this looks ahead by one row, which a car cannot.`,
    );
  } else if (asked === 'linear') {
    list.push('Values are held, not interpolated, since each frame carries one reading.');
  }
  for (const source of trace.sources) if (source.note !== undefined) list.push(source.note);
  if (lateShare > 0.05) {
    const percent = (lateShare * 100).toFixed(0);
    list.push(
      `Late input forbade spraying for ${percent} % of the time; ${lateRemedy(trace, between)}.`,
    );
  }
  for (const note of trace.notes ?? []) list.push(note);
  return list;
}

function lateRemedy({ holdMs, faults }: Trace, between: Between): string {
  if (holdMs !== undefined) {
    return `each value holds for ${holdMs / 1000} s, --hold sets another time`;
  }
  if (faults?.some(saysLate)) return 'the column health says where';
  if (between === 'linear') return 'gaps of more than 2 s are not filled';
  return '--between linear fills gaps of up to 2 s';
}
