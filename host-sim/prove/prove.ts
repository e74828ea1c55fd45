/**
 * Tries to make a core spray when it must not, by all five ways, and gives the evidence as data.
 * Everything follows from settings, amount and seed. Progress is told as it goes; the first violations
 * end the search, and the smallest trace of the first one comes with the report.
 */
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { LevelKind, type Calibration } from '../../controller/calibration.js';
import { LIMITS } from '../../controller/limits.js';
import type { Settings } from '../../controller/settings.js';
import { limitBytes } from '../pack/fingerprint.js';
import type { LoadedPack } from '../pack/load.js';
import { packagePath } from '../package-folder.js';
import { version } from '../version.js';
import type { Amount } from './amount.js';
import { tryChip, type ChipResult } from './chip.js';
import { codeViolations, tryCodes } from './codes.js';
import { coreHash } from './core-hash.js';
import { cutoffEvidence, generalEvidence, neverMet, variedSettings } from './cutoff-evidence.js';
import { tryAll } from './exhaustive.js';
import { tryFaults } from './faults.js';
import { NOT_JUDGED } from './not-judged.js';
import { outcomeOf } from './outcome.js';
import { FULL, isReplayable, plan, type Plan } from './plan.js';
import { Player } from './player.js';
import { refusedViolations, tryRefused } from './refused.js';
import type { EvidenceReport, Reading, Tested } from './report.js';
import type { GivenTrace } from './runs.js';
import { SCALED_CONTRACT, SCALED_LIMITS, scaledSettings } from './scaled.js';
import { Shrinker } from './shrink.js';
import { SHIPPED, type Subject } from './subject.js';
import { Tally, type FoundViolation, type Players } from './tally.js';
import { playersOf, tryEdges, trySearch, type Pace } from './try-out.js';

export interface ProveOptions {
  readonly settings: Settings;
  readonly settingsName: string;
  readonly amount: Amount;
  readonly seed: number;
  /** The pack for the emulated board, or why there is none. */
  readonly pack: LoadedPack | string;
  readonly date: string;
  /** Called now and then: which way, and the share of it that is done. */
  readonly onProgress: (way: string, share: number) => void;
  readonly subject?: Subject;
  /** The board's, for what begins at converter codes; without it that is not tried. */
  readonly calibration?: Calibration;
  /** Recorded traces that faults are put into as well. */
  readonly traces?: readonly GivenTrace[];
  /** How they were read. */
  readonly reading?: Reading;
}

export interface Proved {
  readonly report: EvidenceReport;
  /** The smallest plan that breaks the first property that was found broken, and its player. */
  readonly smallest: { readonly plan: Plan; readonly player: Player } | undefined;
}

/** After this many violations nothing more is tried. */
const VIOLATIONS_MAX = 1;

/** Tries everything. */
export function prove(options: ProveOptions): Proved {
  const { settings, amount, seed, onProgress } = options;
  const subject = options.subject ?? SHIPPED;
  const tally = new Tally(settings);
  const pace: Pace = {
    progress: onProgress,
    isOver: () => tally.violations.length >= VIOLATIONS_MAX,
  };
  const players = playersOf(subject);
  const edges = tryEdges(players, settings, tally, pace);
  const codes = options.calibration ? tryCodes(subject, settings, options.calibration) : [];
  const refused = tryRefused(subject, settings);
  if (!pace.isOver()) {
    const found = [...codeViolations(codes, settings), ...refusedViolations(refused, settings)];
    tally.violations.push(...found);
  }
  const search = trySearch(players, settings, seed, amount, tally, pace);
  const { traces = [] } = options;
  const given = { subject, players, settings, traces, amount: amount.faults, seed };
  const faults = tryFaults({ ...given, tally, pace });
  const exhaustive = pace.isOver()
    ? { results: [], violation: undefined }
    : tryAll(subject, settings, amount.states, pace);
  if (exhaustive.violation) {
    const { view, property, sentence, letters } = exhaustive.violation;
    const shown = planOfLetters(settings, view, letters);
    tally.violations.push({
      property,
      sentence,
      way: 'exhaustive',
      plan: shown,
      atMs: shown.lengthMs,
    });
  }
  const chip = chipOf(options, pace);
  for (const player of players.all) tally.pour(player);
  const smallest = smallestOf(subject, players, tally.violations[0]);
  const tallied = { tally, players, settings };
  const cutoffs = cutoffEvidence(tallied, edges);
  const found: Omit<EvidenceReport, 'outcome'> = {
    ...{ kind: 'smirr-evidence', formatVersion: 1, date: options.date, seed, amount: amount.asked },
    tested: testedOf(options),
    passed: tally.violations.length === 0 && chip.rows.every(isInTime),
    cutoffs,
    general: generalEvidence(tallied),
    ways: {
      edges: [...edges.values()].reduce((sum, count) => sum + count, 0),
      ...{ generalEdges: edges.get('general') ?? 0, varied: variedSettings(settings) },
      ...{ randomTries: search.random, guidedTries: search.guided },
      closestCalls: Object.fromEntries(
        [...search.closest].map(([id, value]) => [id, Math.round(value * 1000) / 1000]),
      ),
      ...{
        codes,
        refused,
        faults,
        exhaustive: exhaustive.results,
        chip: chip.rows,
        ticks: tally.ticks,
      },
    },
    notShown: [...neverMet(tallied, cutoffs), ...notShownOf(chip, exhaustive.results)],
    notJudged: NOT_JUDGED,
    violations: tally.violations.map((found) => shownViolation(found, smallest?.plan)),
  };
  return { report: { ...found, outcome: outcomeOf(found) }, smallest };
}

/** The pump's pin followed in time. */
export function isInTime({ worstMs, allowedMs }: { worstMs: number; allowedMs: number }): boolean {
  return worstMs >= 0 && worstMs <= allowedMs;
}

function chipOf({ pack, amount }: ProveOptions, pace: Pace): ChipResult {
  if (typeof pack === 'string') return { rows: [], notShown: pack };
  if (pace.isOver()) return { rows: [], notShown: 'a violation was found before' };
  return tryChip(pack, amount.phases, pace);
}

function notShownOf(
  chip: ChipResult,
  views: readonly {
    readonly view: string;
    readonly isComplete: boolean;
    readonly states: number;
  }[],
): string[] {
  const list: string[] = [];
  if (chip.notShown !== '') list.push(`the emulated board: ${chip.notShown}`);
  for (const { view, isComplete, states } of views) {
    if (!isComplete) list.push(`exhaustive, ${view}: ended at ${states} states, others were left`);
  }
  list.push(
    'jumps and frozen values, which are judged on raw codes: no try makes them',
    'the remembered ambient, water and the duty window in the exhaustive search: they are tried by the other ways',
    'taking an input away never makes it spray more, for longer than faults that stay were watched: the tests of the project hold it',
    'a bit of the core that changes in the flash before a boot: the board refuses its checksum, the tests of the project hold it; changed settings are booted in a full run only',
    'cutoffs that a table of limits other than the shipped one would have',
    'a real board: the chip was emulated',
  );
  return list;
}

function testedOf(options: ProveOptions): Tested {
  const { settings, settingsName, pack, traces = [], reading = {} } = options;
  const sha = (bytes: Uint8Array) => createHash('sha256').update(bytes).digest('hex');
  const flat = Buffer.from(JSON.stringify(settings), 'utf8');
  const isPacked = typeof pack !== 'string';
  return {
    ...{ version: version(), settingsName, settings },
    fingerprint: isPacked ? pack.pack.fingerprint.code : '',
    coreSha256: coreHash(),
    bundleSha256: bundleHash(sha),
    limitsSha256: sha(limitBytes(LIMITS)),
    settingsSha256: sha(flat),
    calibration: isPacked ? pack.calibration.name : 'readings in engineering units',
    traces: traces.map(({ trace, sha256: hash }) => ({
      ...{ name: trace.name, sha256: hash },
      seconds: Math.round(trace.timeMs[trace.timeMs.length - 1] / 1000),
    })),
    reading,
  };
}

function bundleHash(sha: (bytes: Uint8Array) => string): string {
  try {
    return sha(readFileSync(packagePath('dist/board/core.es5.js')));
  } catch {
    return '';
  }
}

function shownViolation(found: FoundViolation, smallest: Plan | undefined) {
  const shown = smallest ?? found.plan;
  return {
    ...{
      property: found.property,
      sentence: found.sentence,
      way: found.way,
      plan: found.plan.name,
    },
    ...{ atMs: shown.lengthMs, breakpoints: shown.breakpoints.length },
    replayable: shown.lengthMs > 0 && isReplayable(shown) && found.way !== 'exhaustive',
  };
}

function smallestOf(subject: Subject, players: Players, found: FoundViolation | undefined) {
  if (found === undefined || found.plan.lengthMs === 0) return undefined;
  if (found.way === 'exhaustive') {
    const car = { settings: found.plan.settings, fitted: FULL, levelKind: LevelKind.Switch };
    return { plan: found.plan, player: new Player(subject, car, SCALED_LIMITS, SCALED_CONTRACT) };
  }
  const player = players.for(found.plan);
  return { plan: new Shrinker(player, found.property).shrink(found.plan), player };
}

/** The way of an exhaustive search as a plan; its limits were the scaled ones. */
function planOfLetters(
  settings: Settings,
  view: string,
  letters: readonly { readonly readings: object; readonly feedback?: number }[],
): Plan {
  const scaled = scaledSettings(settings);
  const { goodReadings } = new Player(SHIPPED, {
    settings: scaled,
    fitted: FULL,
    levelKind: LevelKind.Switch,
  });
  const changes = letters.flatMap(({ readings, feedback }, index) => {
    const values = { ...goodReadings, ...readings, feedback: feedback ?? -1 } as Record<
      string,
      number
    >;
    return Object.entries(values)
      .filter(([name]) => name !== 'nowMs')
      .map(([channel, value]) => ({
        atMs: (index + 1) * 20,
        channel: channel as Plan['breakpoints'][number]['channel'],
        value,
      }));
  });
  return plan(`exhaustive, ${view}`, scaled, (letters.length + 1) * 20, changes);
}
