/**
 * Which settings mattered in a run, and why: each row gives the setting's value and what it did here,
 * in this run's numbers. A setting that played no part has no row; all of them are listed elsewhere.
 */
import { SETTINGS, type SettingName, type SettingRow } from '../../controller/settings.js';
import type { Run } from '../replay/run.js';
import {
  clock,
  counted,
  duration,
  percent,
  seconds,
  settingValue,
  temperature,
  volume,
} from './format.js';
import type { CutoffSum, KindSum, Sums } from './sums.js';

export interface Matter {
  /** Setting names, together where they act together. */
  readonly names: readonly SettingName[];
  /** Their values, with units. */
  readonly value: string;
  /** What it did in this run. */
  readonly why: string;
}

const ROWS = new Map<string, SettingRow>(SETTINGS.map((row) => [row.name, row]));

/** The row of a setting; every name comes from the table itself. */
function rowOf(name: SettingName): SettingRow {
  const row = ROWS.get(name);
  if (row === undefined) throw new Error(`no setting is called ${name}`);
  return row;
}

/** Everything a rule may ask about the run. */
interface Seen {
  readonly run: Run;
  readonly sums: Sums;
  /** How long a reason held, ms; 0 if it never did. */
  readonly heldMs: (reason: string) => number;
  readonly cutoff: (id: string) => CutoffSum | undefined;
  readonly kind: (kind: KindSum['kind']) => KindSum | undefined;
}

interface Rule {
  readonly names: readonly SettingName[];
  /** The sentence, or undefined if the setting played no part. */
  readonly why: (seen: Seen) => string | undefined;
}

/** A rule for a cutoff: the setting is its threshold. */
function onCutoff(id: string, names: readonly SettingName[], what: string): Rule {
  return {
    names,
    why: ({ cutoff }) => {
      const held = cutoff(id);
      if (held === undefined) return undefined;
      return `${what} from ${clock(held.firstMs)}, ${duration(held.totalMs)} in all`;
    },
  };
}

/** A rule for a reason that waits on the setting. */
function onReason(reason: string, names: readonly SettingName[], what: string): Rule {
  return {
    names,
    why: ({ heldMs }) =>
      heldMs(reason) === 0 ? undefined : `${what} for ${seconds(heldMs(reason))}`,
  };
}

const RULES: readonly Rule[] = [
  { names: ['tempOn'], why: tempOnWhy },
  onReason('no-engine-speed', ['rpmOn'], 'hot, but the engine too slow'),
  onReason('no-boost', ['boostOn'], 'hot and fast enough, but off boost'),
  {
    names: ['burst'],
    why: ({ kind }) => {
      const bursts = kind('automatic');
      if (bursts === undefined) return undefined;
      return `${counted(bursts.count, 'automatic spray')}, the longest ${seconds(bursts.longestMs)}`;
    },
  },
  { names: ['rest', 'restHot'], why: restWhy },
  {
    names: ['manual'],
    why: ({ kind }) => {
      const bursts = kind('manual');
      if (bursts === undefined) return undefined;
      return `${counted(bursts.count, 'burst')} by the button, first at ${clock(bursts.firstMs)}`;
    },
  },
  {
    names: ['precoolOn'],
    why: ({ kind }) => {
      const bursts = kind('precool');
      if (bursts === undefined) return undefined;
      return `${counted(bursts.count, 'spray')} at standstill, first at ${clock(bursts.firstMs)}`;
    },
  },
  { names: ['duty', 'dutyWindow'], why: dutyWhy },
  { names: ['flow', 'tank', 'reserve'], why: waterWhy },
  onReason('too-humid', ['minDepression'], 'the air had less room for vapour'),
  onReason('rationed', ['stageTime'], 'water was held back for the rest of the stage'),
  onCutoff('standstill', ['standstillDuty', 'standstillMax'], 'used up'),
  onCutoff('freezing', ['freeze'], 'colder than this'),
  onCutoff('too-cool', ['floor'], 'the charge was under it'),
  onCutoff('engine-stopped', ['runRpm'], 'engine speed under it'),
  onCutoff('late-input', ['lateAfter'], 'a reading older than this'),
  onCutoff('burst-length', ['maxBurst'], 'one spray reached it'),
  onCutoff('tank-empty', ['levelAfter'], 'the tank counted as empty'),
  onCutoff('reserve', ['manualFromReserve'], 'only the reserve was left'),
  onCutoff('supply', ['supplyLow', 'supplyHigh'], 'the voltage was outside'),
  onCutoff(
    'not-allowed',
    ['automaticAllowed', 'manualAllowed'],
    'a spray was wanted and not permitted',
  ),
];

/** The settings that played a part, in the order of the decisions. */
export function settingsThatMattered(run: Run, sums: Sums): Matter[] {
  const seen: Seen = {
    run,
    sums,
    heldMs: (reason) => sums.reasons.find(({ id }) => id === reason)?.ms ?? 0,
    cutoff: (id) => sums.cutoffs.find((cutoff) => cutoff.id === id),
    kind: (kind) => sums.kinds.find((sum) => sum.kind === kind),
  };
  return RULES.flatMap(({ names, why }) => {
    const text = why(seen);
    if (text === undefined) return [];
    const values = names.map((name) => settingValue(rowOf(name), run.settings[rowOf(name).field]));
    return [{ names, value: values.join(', '), why: text }];
  });
}

function tempOnWhy({ run, sums }: Seen): string {
  if (run.aboveOnSeconds === 0 || sums.firstOnMs === undefined) {
    return `never reached; the charge was at most ${temperature(run.chargeMaxDc)}`;
  }
  const reached = `reached at ${clock(sums.firstOnMs)}`;
  return `${reached}; at or above it for ${seconds(run.aboveOnSeconds * 1000)}`;
}

function restWhy({ heldMs, sums }: Seen): string | undefined {
  if (heldMs('resting') === 0) return undefined;
  const stopped = `stopped it for ${seconds(heldMs('resting'))}`;
  if (sums.pause === undefined) return stopped;
  const { minMs, maxMs } = sums.pause;
  const pauses =
    maxMs - minMs < 50
      ? `pauses of ${seconds(minMs)}`
      : `pauses of ${seconds(minMs)} to ${seconds(maxMs)}`;
  return `${stopped}; ${pauses}`;
}

function dutyWhy({ run, sums, heldMs, cutoff }: Seen): string | undefined {
  if (sums.sprayCount === 0) return undefined;
  const { ms, fromMs } = sums.fullest;
  const share = percent(ms / run.settings.dutyWindowMs);
  const held = heldMs('no-room') + (cutoff('duty')?.totalMs ?? 0);
  const stopped = held === 0 ? '' : `; the limit stopped it for ${seconds(held)}`;
  return `fullest window from ${clock(fromMs)}: ${seconds(ms)}, ${share}${stopped}`;
}

function waterWhy({ run, sums }: Seen): string | undefined {
  if (run.waterUl === 0) return undefined;
  const usableUl = run.tankEndUl - run.settings.reserveUl;
  if (usableUl <= 0) return `used ${volume(run.waterUl)}, down to the reserve`;
  const lastsMs = (usableUl * sums.lengthMs) / run.waterUl;
  return `used ${volume(run.waterUl)}; at this rate the ${volume(usableUl)} above the reserve last ${duration(lastsMs)} more`;
}

/** One row of the full list: every setting with its value, initial value, range and meaning. */
export interface SettingLine {
  readonly name: string;
  readonly value: string;
  readonly initial: string;
  readonly changed: boolean;
  readonly range: string;
  readonly what: string;
}

/** Every setting of a run, in the table's order. */
export function allSettings(run: Run): SettingLine[] {
  return SETTINGS.map((row) => ({
    name: row.name,
    value: settingValue(row, run.settings[row.field]),
    initial: settingValue(row, row.initial),
    changed: run.settings[row.field] !== row.initial,
    range:
      row.quantity === 'choice'
        ? row.words.join(', ')
        : `${settingValue(row, row.min)} to ${settingValue(row, row.max)}`,
    what: row.what,
  }));
}

/** The settings in which two runs differ, with both values. */
export function differentSettings(a: Run, b: Run): { name: string; a: string; b: string }[] {
  return SETTINGS.filter(({ field }) => a.settings[field] !== b.settings[field]).map((row) => ({
    name: row.name,
    a: settingValue(row, a.settings[row.field]),
    b: settingValue(row, b.settings[row.field]),
  }));
}
