/**
 * Tries to make a core spray when it must not, by all five ways, and gives the evidence as data.
 * Everything follows from settings, amount and seed. Progress is told as it goes; the first violations
 * end the search, and the smallest trace of the first one comes with the report.
 */
import type { Calibration } from '../../controller/calibration.js';
import type { Amount } from './amount.js';
import { tryChip, type ChipResult } from './chip.js';
import { codeViolations, tryCodes } from './codes.js';
import { cutoffEvidence, generalEvidence, neverMet, variedSettings } from './cutoff-evidence.js';
import { tryAll } from './exhaustive.js';
import { tryFaults } from './faults.js';
import { NOT_JUDGED } from './not-judged.js';
import { outcomeOf } from './outcome.js';
import { refusedViolations, tryRefused } from './refused.js';
import type { EvidenceReport } from './report.js';
import { SHIPPED, type Subject } from './subject.js';
import { Tally } from './tally.js';
import { testedOf, type ToTest } from './tested.js';
import { playersOf, tryEdges, trySearch, type Pace } from './try-out.js';
import { WayNotes } from './way-states.js';
import { foundInStates, isRun, smallestOf, unsavedViolation, type Smallest } from './violation.js';

export interface ProveOptions extends ToTest {
  readonly amount: Amount;
  readonly seed: number;
  readonly date: string;
  /** Called now and then: which way, and the share of it that is done. */
  readonly onProgress: (way: string, share: number) => void;
  readonly subject?: Subject;
  /** The board's, for what begins at converter codes; without it that is not tried. */
  readonly calibration?: Calibration;
}

export interface Proved {
  readonly report: EvidenceReport;
  /** The smallest plan that breaks the first property that was found broken, and what is saved of it. */
  readonly smallest: Smallest | undefined;
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
  const notes = new WayNotes(pace);
  const { edges, codes, refused } = notes.run('edges', () => {
    const played = tryEdges(players, settings, tally, pace);
    const rows = options.calibration ? tryCodes(subject, settings, options.calibration) : [];
    const counts = tryRefused(subject, settings);
    if (!pace.isOver()) {
      const found = [...codeViolations(rows, settings), ...refusedViolations(counts, settings)];
      tally.violations.push(...found);
    }
    return { edges: played, codes: rows, refused: counts };
  });
  const search = notes.run('search', () => {
    return trySearch(players, settings, seed, amount, tally, pace);
  });
  const { traces = [] } = options;
  const given = { subject, players, settings, traces, amount: amount.faults, seed };
  const faults = notes.run('faults', () => tryFaults({ ...given, tally, pace }));
  const exhaustive = notes.run('exhaustive', () => {
    if (pace.isOver()) return { results: [] };
    const { results, violation } = tryAll(subject, settings, amount.states, pace);
    if (violation) tally.violations.push(foundInStates(settings, violation));
    return { results };
  });
  const chip = notes.run('chip', () => chipOf(options, pace), typeof options.pack !== 'string');
  for (const player of players.all) tally.pour(player);
  const [first] = tally.violations;
  const smallest =
    first && isRun(first) ? smallestOf(first, { subject, players, tested: settings }) : undefined;
  const tallied = { tally, players, settings };
  const cutoffs = cutoffEvidence(tallied, edges);
  const found: Omit<EvidenceReport, 'outcome'> = {
    ...{ kind: 'smirr-evidence', formatVersion: 1, date: options.date, seed, amount: amount.asked },
    tested: testedOf(options),
    passed: tally.violations.length === 0 && chip.rows.every(isInTime),
    cutoffs,
    general: generalEvidence(tallied),
    ways: {
      tried: notes.states,
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
    violations: tally.violations.map((each) =>
      each === first && smallest ? smallest.shown : unsavedViolation(each, settings),
    ),
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
