/**
 * Invented runs for the tests of report/: a hot stage, a very long one, one without a spray, one of
 * a single row. A little model makes the trace and a little decision rule makes the ticks; neither
 * is the control core. All sums are counted from the ticks, so that the numbers of a run agree.
 */
import { SETTINGS, type Settings } from '../../../controller/settings.js';
import type { CutoffSpan, Run, Span, Spray, SprayKind } from '../../../host-sim/replay/run.js';
import type { ChannelName, Trace } from '../../../host-sim/trace/trace.js';

const TICK_MS = 20;
const BIT: Readonly<Record<string, number>> = {
  disarmed: 0,
  'engine-stopped': 1,
  'sensor-lost': 2,
  'late-input': 3,
  freezing: 4,
  'too-cool': 5,
};

/** Settings at their initial values, with some changed. */
export function settingsWith(changed: Partial<Settings> = {}): Settings {
  const initial = Object.fromEntries(SETTINGS.map(({ field, initial: value }) => [field, value]));
  return { ...(initial as Settings), ...changed };
}

export interface Row {
  readonly timeMs: number;
  readonly rpm: number;
  readonly boost: number;
  readonly charge: number;
  readonly speed?: number;
  readonly ambient?: number;
}

/** A trace from rows; every channel of the first row is a column. */
export function traceOf(name: string, rows: readonly Row[], changed: Partial<Trace> = {}): Trace {
  const channels = Object.keys(rows[0]).filter((key) => key !== 'timeMs') as ChannelName[];
  const column = (key: keyof Row): Int32Array => Int32Array.from(rows, (row) => row[key] ?? 0);
  const gaps = rows.slice(1).map((row, i) => row.timeMs - rows[i].timeMs);
  gaps.sort((a, b) => a - b);
  const units: Record<string, [string, string]> = {
    rpm: ['Engine speed', '1/min'],
    boost: ['Manifold', 'kPa absolute'],
    charge: ['Charge after cooler', '°C'],
    speed: ['Wheel', 'km/h'],
    ambient: ['Outside', '°C'],
  };
  return {
    name,
    timeMs: column('timeMs'),
    columns: Object.fromEntries(channels.map((key) => [key, column(key as keyof Row)])),
    rows: { read: rows.length + 3, used: rows.length, repaired: 2, refused: 1 },
    leadingRows: 0,
    timeRepairs: 0,
    medianMs: gaps[gaps.length >> 1] ?? 0,
    sources: channels.map((channel) => ({
      channel,
      header: units[channel][0],
      unit: units[channel][1],
      named: false,
    })),
    reference: { hpa: 987, source: 'first-second' },
    ...changed,
  };
}

export interface Decision {
  readonly reason: string;
  /** Ids of the cutoffs that hold. */
  readonly cutoffs?: readonly string[];
  readonly demand?: boolean;
}

/** Sums the decisions of every tick into a run. */
export function runOf(
  trace: Trace,
  settings: Settings,
  decide: (atMs: number, chargeDc: number) => Decision,
  changed: Partial<Run> = {},
): Run {
  const lastMs = trace.timeMs[trace.timeMs.length - 1];
  const ticks = Math.floor(lastMs / TICK_MS) + 1;
  const charge = trace.columns.charge ?? new Int32Array(trace.timeMs.length);
  const spans: Span[] = [];
  const sprays: Spray[] = [];
  const cutoffs: CutoffSpan[] = [];
  const openCutoffs = new Map<string, number>();
  const reasonMs = new Map<string, number>();
  const tank: [number, number][] = [[0, settings.tankUl]];
  let spray: Spray | undefined;
  let tankUl = settings.tankUl;
  let aboveMs = 0;
  let row = 0;
  let chargeMaxDc = -Infinity;
  const endSpray = (): void => {
    if (spray === undefined) return;
    sprays.push(spray);
    tank.push([spray.toMs, tankUl]);
    spray = undefined;
  };
  for (let tick = 0; tick < ticks; tick += 1) {
    const atMs = tick * TICK_MS;
    while (row + 1 < trace.timeMs.length && trace.timeMs[row + 1] <= atMs) row += 1;
    chargeMaxDc = Math.max(chargeMaxDc, charge[row]);
    if (charge[row] >= settings.tempOnDc) aboveMs += TICK_MS;
    const { reason, cutoffs: ids = [], demand = false } = decide(atMs, charge[row]);
    const bits = ids.reduce((sum, id) => sum | (1 << BIT[id]), 0);
    const last = spans[spans.length - 1];
    if (last?.reason === reason && last.cutoffs === bits && last.demand === demand) {
      spans[spans.length - 1] = { ...last, toMs: atMs + TICK_MS };
    } else spans.push({ fromMs: atMs, toMs: atMs + TICK_MS, reason, cutoffs: bits, demand });
    reasonMs.set(reason, (reasonMs.get(reason) ?? 0) + TICK_MS);
    for (const id of ids) if (!openCutoffs.has(id)) openCutoffs.set(id, atMs);
    for (const [id, fromMs] of openCutoffs) {
      if (ids.includes(id)) continue;
      cutoffs.push({ id, bit: BIT[id], fromMs, toMs: atMs });
      openCutoffs.delete(id);
    }
    if (!reason.startsWith('spray-')) {
      endSpray();
      continue;
    }
    const kind = reason.slice(6) as SprayKind;
    if (spray !== undefined && spray.kind !== kind) endSpray();
    tankUl -= (settings.flowUlps * TICK_MS) / 1000;
    spray = spray ?? { fromMs: atMs, toMs: atMs, kind, chargeDcAtStart: charge[row] };
    spray = { ...spray, toMs: atMs + TICK_MS };
  }
  endSpray();
  const endMs = ticks * TICK_MS;
  for (const [id, fromMs] of openCutoffs) cutoffs.push({ id, bit: BIT[id], fromMs, toMs: endMs });
  cutoffs.sort((a, b) => a.fromMs - b.fromMs || a.bit - b.bit);
  const sprayMs = sprays.reduce((sum, { fromMs, toMs }) => sum + toMs - fromMs, 0);
  return {
    trace,
    settings,
    settingsName: 'initial settings',
    ticks,
    seconds: endMs / 1000,
    between: 'hold',
    spans,
    sprays,
    cutoffs,
    events: [],
    reasonSeconds: new Map(
      [...reasonMs].sort((a, b) => b[1] - a[1]).map(([id, ms]) => [id, ms / 1000]),
    ),
    tank,
    tankStartUl: settings.tankUl,
    tankEndUl: tankUl,
    waterUl: settings.tankUl - tankUl,
    spraySeconds: sprayMs / 1000,
    aboveOnSeconds: aboveMs / 1000,
    chargeMaxDc,
    rulesOff: [],
    notes: [],
    ...changed,
  };
}

/** A repeatable number from 0 to 1 for a whole number: invented noise without a generator's state. */
function noise(seed: number): number {
  const x = Math.sin(seed * 12.9898) * 43758.5453;
  return x - Math.floor(x);
}

/** Rows of an invented drive: a wait, corners and straights, a slow end. */
function driveRows(lengthMs: number, everyMs: number, skip: (ms: number) => boolean): Row[] {
  const rows: Row[] = [];
  let charge = 380;
  let boost = 0;
  for (let timeMs = 0; timeMs < lengthMs; timeMs += everyMs) {
    const s = timeMs / 1000;
    const driving = s > 28 && timeMs < lengthMs - 30000;
    const off = driving && (s % 10 < 2 || (s % 17 > 7 && s % 17 < 8));
    const wanted = !driving || off ? 0 : 1250 + 90 * Math.sin(s / 5);
    boost += ((wanted - boost) * everyMs) / (off ? 300 : 700);
    // Towards what compression makes of the air, faster with air flow than without.
    const towards = driving ? 340 + boost * 0.33 : s > 28 ? 470 : 460;
    charge += ((towards - charge) * everyMs) / (driving ? (off ? 4500 : 9000) : 16000);
    const stopped = timeMs > lengthMs - 14000;
    rows.push({
      timeMs,
      rpm: stopped
        ? 0
        : Math.round(
            (driving ? (off ? 3600 : 5600 + 1500 * ((s % 5) / 5)) : 950) + 60 * noise(timeMs),
          ),
      boost: Math.round(boost + 14 * noise(timeMs + 1) - 7),
      charge: Math.round(charge + 3 * noise(timeMs + 2)),
      speed: stopped
        ? 0
        : driving
          ? Math.round(700 + 500 * Math.sin(s / 4) + 4 * noise(timeMs))
          : 0,
      ambient: 240,
    });
  }
  return rows.filter(({ timeMs }) => !skip(timeMs));
}

/** A decision rule of our own: bursts with rests while hot and on boost, gaps cut it off. */
function ruleFor(
  trace: Trace,
  settings: Settings,
  lostMs: readonly [number, number],
): (atMs: number, chargeDc: number) => Decision {
  let row = 0;
  let sprayUntil = -1;
  let restUntil = -1;
  return (atMs, chargeDc) => {
    while (row + 1 < trace.timeMs.length && trace.timeMs[row + 1] <= atMs) row += 1;
    const { rpm, boost } = trace.columns;
    const cutoffs: string[] = [];
    if (rpm !== undefined && rpm[row] < 500) cutoffs.push('engine-stopped');
    if (atMs >= lostMs[0] && atMs < lostMs[1]) cutoffs.push('sensor-lost');
    if (atMs - trace.timeMs[row] > 500) cutoffs.push('late-input');
    const demand = chargeDc >= settings.tempOnDc && (boost?.[row] ?? 0) >= settings.boostOnHpa;
    if (cutoffs.length > 0) {
      restUntil = Math.max(restUntil, atMs + 1000);
      sprayUntil = -1;
      return { reason: cutoffs[0], cutoffs, demand };
    }
    if (atMs < sprayUntil) return { reason: 'spray-automatic', demand };
    if (chargeDc < settings.tempOnDc) return { reason: 'no-temperature' };
    if ((rpm?.[row] ?? 0) < settings.rpmOnRpm) return { reason: 'no-engine-speed' };
    if (!demand) return { reason: 'no-boost' };
    if (atMs < restUntil) return { reason: 'resting', demand };
    sprayUntil = atMs + settings.burstMs;
    restUntil = sprayUntil + (chargeDc > 620 ? settings.restHotMs : settings.restMs);
    return { reason: 'spray-automatic', demand };
  };
}

/** Three minutes of an invented hot stage: bursts, rests, a gap, a lost sensor, the engine off. */
export function hotRun(changed: Partial<Settings> = {}, more: Partial<Run> = {}): Run {
  const settings = settingsWith(changed);
  const rows = driveRows(180000, 50, (ms) => ms > 71000 && ms < 74000);
  const faults = Int32Array.from(rows, ({ timeMs }) =>
    timeMs >= 111800 && timeMs < 114400 ? 6 << 6 : 0,
  );
  const trace = traceOf('invented:hot-hill', rows, { faults });
  const rule = ruleFor(trace, settings, [112000, 114600]);
  const press = (atMs: number): boolean => atMs >= 20000 && atMs < 24000;
  return runOf(
    trace,
    settings,
    (atMs, chargeDc) => (press(atMs) ? { reason: 'spray-manual' } : rule(atMs, chargeDc)),
    {
      rulesOff: [
        'supply: no supply voltage in the trace, so 13.8 V is taken.',
        'tank-empty: no level in the trace, so only the estimate is judged.',
      ],
      events: [{ atMs: 112000, id: 'sensor-lost', sentence: 'The charge sensor was lost.' }],
      ...more,
    },
  );
}

/** 55 minutes at every tick (166,000 of them), with one spray of 60 ms in a part that is cool. */
export function longRun(): Run {
  const settings = settingsWith();
  const lengthMs = 166000 * TICK_MS;
  const cool = (ms: number): boolean => ms > 2400000;
  const rows = driveRows(lengthMs, TICK_MS, (ms) => ms > 1000000 && ms < 1030000).map((row) =>
    cool(row.timeMs) ? { ...row, charge: 300 + (row.timeMs === 2800000 ? 700 : 0) } : row,
  );
  const trace = traceOf('invented:long-day', rows);
  const rule = ruleFor(trace, settings, [0, 0]);
  const short = (atMs: number): boolean => atMs >= 2700000 && atMs < 2700060;
  const cut = (atMs: number): boolean => atMs >= 2900000 && atMs < 2900020;
  return runOf(trace, settings, (atMs, chargeDc) => {
    if (short(atMs)) return { reason: 'spray-manual' };
    if (cut(atMs)) return { reason: 'late-input', cutoffs: ['late-input'] };
    return rule(atMs, chargeDc);
  });
}

/** A cool run without any spray, at ten rows a second, interpolated. */
export function dryRun(): Run {
  const rows = driveRows(240000, 500, () => false).map((row) => ({
    ...row,
    charge: Math.round(row.charge / 2 - 230),
    ambient: -20,
  }));
  const trace = traceOf('invented:frosty', rows);
  return runOf(
    trace,
    settingsWith(),
    (atMs) =>
      atMs < 1000
        ? { reason: 'no-temperature' }
        : { reason: 'freezing', cutoffs: ['freezing', 'too-cool'] },
    {
      between: 'linear',
      notes: [
        'Rows are 500 ms apart, so values between them are interpolated; this looks ahead by one row.',
      ],
    },
  );
}

/** One row only. */
export function oneRowRun(): Run {
  const trace = traceOf('invented:one', [{ timeMs: 0, rpm: 900, boost: -20, charge: 210 }]);
  return runOf(trace, settingsWith(), () => ({ reason: 'no-temperature' }));
}
