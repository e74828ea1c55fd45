/**
 * What all ways of trying come to for each cutoff, each of its causes and each general property: rows of the
 * report. Takes the tally of a whole search and its players, gives rows in the order of the table.
 */
import type { Settings } from '../../controller/settings.js';
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import { settingsApart } from './apart.js';
import { CONTRACT } from './contract.js';
import { edgesFor } from './edges.js';
import { needsOf, whyNoSpray } from './needs.js';
import { closestCall } from './picture.js';
import { plan } from './plan.js';
import type { Player } from './player.js';
import { Chance } from './random.js';
import type {
  CauseEvidence,
  CutoffEvidence,
  GeneralEvidence,
  MetEvidence,
  Result,
  VariedSettings,
} from './report.js';
import { Breeder } from './search.js';
import type { Met, Players, Tally } from './tally.js';

/** What rows are made of. */
export interface Tallied {
  readonly tally: Tally;
  readonly players: Players;
  readonly settings: Settings;
}

/** The usual car: every property has the same id in every car. */
export function usualPlayer({ players, settings }: Tallied): Player {
  return players.for(plan('', settings, 0, []));
}

/** What came of a property. */
export function resultOf(tally: Tally, id: string): Result {
  if (tally.violations.some(({ property }) => property === id)) return 'broken';
  return (tally.met.get(id)?.count ?? 0) > 0 ? 'held' : 'not shown';
}

function metOf(met: Met | undefined): MetEvidence {
  if (met === undefined) return { met: 0, metAsTested: 0, otherSettings: [] };
  return { met: met.count, metAsTested: met.tested, otherSettings: [...met.others].sort() };
}

/** Rows of all cutoffs; `edges` has the number of edges by cutoff. */
export function cutoffEvidence(
  tallied: Tallied,
  edges: ReadonlyMap<string, number>,
): CutoffEvidence[] {
  const causes = causeRows(tallied);
  return CUTOFFS.map(({ id }) => cutoffRow(id, tallied, edges.get(id) ?? 0, causes));
}

interface CauseRow {
  readonly id: string;
  readonly cutoff: string;
  readonly evidence: CauseEvidence;
}

function cutoffRow(
  id: string,
  tallied: Tallied,
  edges: number,
  all: readonly CauseRow[],
): CutoffEvidence {
  const { tally, players } = tallied;
  const { properties } = usualPlayer(tallied).obligations;
  const [cuts, letsGo] = [id, `${id} lets go`].map((each) =>
    properties.find((row) => row.id === each)!,
  );
  const rows = all.filter(({ cutoff }) => cutoff === id);
  const shown = rows.flatMap(({ id: cause }) => {
    const call = tally.causes.get(cause)?.shown;
    return call === undefined ? [] : [{ cause, call }];
  });
  shown.sort((a, b) => b.call.ms - b.call.withinMs - (a.call.ms - a.call.withinMs));
  const closest = shown.length > 0 && closestCall(players, shown[0].cause, shown[0].call, tallied);
  const stops = resultOf(tally, `${id} stops`);
  const result = stops === 'broken' ? stops : resultOf(tally, id);
  return {
    ...{ id, sentence: cuts.sentence, letsGo: letsGo.sentence, edges },
    ...metOf(tally.met.get(id)),
    ...{ result, letsGoResult: resultOf(tally, letsGo.id) },
    causes: rows.map(({ evidence }) => evidence),
    ...(closest && { closest }),
  };
}

/** Each cause of every car once, those of the usual car first. */
function causeRows(tallied: Tallied): CauseRow[] {
  const { tally, players } = tallied;
  const usual = usualPlayer(tallied);
  const rows = new Map<string, CauseRow>();
  for (const player of [usual, ...players.all]) {
    const { obligations, core } = player;
    const car = { settings: core.settings, calibration: core.calibration, contract: CONTRACT };
    obligations.causes.forEach(({ cutoff, words, onsetMs }, index) => {
      const { id } = obligations.reactions[index];
      const counts = tally.causes.get(id);
      const isThere = player === usual || (counts !== undefined && counts.began > 0);
      if (!isThere || rows.has(id)) return;
      const { began, cut, ended, worstMs, withinMs } = counts ?? NOTHING;
      const evidence = {
        ...{ words, debounceMs: onsetMs, needs: needsOf(words, car), began },
        ...metOf(counts?.acted),
        ...{ cut, endedOtherwise: ended, worstMs, withinMs },
      };
      rows.set(id, { id, cutoff, evidence });
    });
  }
  return [...rows.values()];
}

const NOTHING = { began: 0, cut: 0, ended: 0, worstMs: -1, withinMs: 0 };

/** Rows of the general properties. */
export function generalEvidence(tallied: Tallied): GeneralEvidence[] {
  const { tally } = tallied;
  return usualPlayer(tallied)
    .obligations.properties.filter(({ cutoff }) => cutoff === 'general')
    .map(({ id, sentence }) => ({
      ...{ id, sentence },
      ...metOf(tally.met.get(id)),
      result: resultOf(tally, id),
    }));
}

/** Properties and causes that never came, or never with a spray to cut, a sentence each. */
export function neverMet(tallied: Tallied, cutoffs: readonly CutoffEvidence[]): string[] {
  const { tally } = tallied;
  const isStopped = tally.violations.length > 0;
  const came = isStopped ? 'had not come when it stopped' : 'never came';
  const byThat = isStopped
    ? 'had not come in force by that when it stopped'
    : 'never came in force by that';
  const properties = usualPlayer(tallied)
    .obligations.properties.filter(({ id }) => resultOf(tally, id) === 'not shown')
    .map(({ id }) => `${id}: its condition ${came}`);
  const causes = cutoffs.flatMap(({ id, met, causes: rows }) =>
    rows.flatMap((row) => {
      const { words } = row;
      if (met > 0 && row.met === 0) return [`${id} when ${words}: it ${byThat}`];
      const isShown = row.met === 0 || row.cut > 0 || whyNoSpray(words) !== '';
      return isShown
        ? []
        : [`${id} when ${words}: no spray that it could cut ran until it was due`];
    }),
  );
  return [...properties, ...causes];
}

/** Settings that edges and search change, and what for. */
export function variedSettings(settings: Settings): VariedSettings[] {
  const rows = new Map<string, { edges: number; cutoffs: Set<string>; search: boolean }>();
  const rowFor = (others: Settings) => {
    const apart = settingsApart(settings, others);
    const row = rows.get(apart) ?? { edges: 0, cutoffs: new Set<string>(), search: false };
    rows.set(apart, row);
    return row;
  };
  for (const { cutoff, plans } of edgesFor(settings)) {
    for (const each of plans) {
      const row = rowFor(each.settings);
      row.edges++;
      row.cutoffs.add(cutoff);
    }
  }
  for (const car of new Breeder(settings, new Chance(0)).cars) rowFor(car.settings).search = true;
  rows.delete('');
  return [...rows].map(([changed, { edges, cutoffs, search }]) => ({
    ...{ changed, edges, cutoffs: [...cutoffs], search },
  }));
}
