/**
 * What was tried, in words and with its counts, way by way: for the page of the evidence and its text.
 */
import { counted, decimal, NBSP } from '../report/format.js';
import { andList } from '../shown.js';
import type { FaultCounts } from './fault-counts.js';
import type { ViewResult } from './exhaustive.js';
import type { FlipCounts } from './flips.js';
import type { EvidenceReport } from './report.js';
import { WAYS } from './way-states.js';

/** Each way, with its number, and what was tried. */
export function wayRows({ ways: w }: EvidenceReport): [way: string, tried: string][] {
  return countedRows(w).map(([way, text]) => {
    const state = w.tried[WAYS[Number(way[0]) - 1]];
    if (state === 'not tried') return [way, state];
    return [way, state === 'stopped' && text !== 'not tried' ? `${text}; it stopped there` : text];
  });
}

function countedRows(w: EvidenceReport['ways']): [way: string, tried: string][] {
  return [
    [
      '1. Edges',
      `${counted(w.edges, 'edge')}, ${decimal(w.generalEdges, 0)} of them about general properties: each cause one tick short of its debounce, at it, one tick over; its let-go likewise`,
    ],
    [
      '1. Edges: from codes',
      w.codes.length === 0
        ? 'not shown'
        : `${counted(w.codes.length, 'change')} of a converter code or of pulses, through the board's calibration: each cutoff in the tick in which it is due`,
    ],
    [
      '1. Edges: refused settings',
      `${counted(w.refused.tried, 'set')} of settings that break a rule; ${w.refused.accepted.length === 0 ? 'of none a core was made' : `of ${counted(w.refused.accepted.length, 'one', 'of them')} a core was made`}`,
    ],
    [
      '2. Search',
      `${counted(w.randomTries, 'random try', 'random tries')} of a minute, ${counted(w.guidedTries, 'try', 'tries')} bred towards a violation`,
    ],
    ...faultRows(w.faults, w.tried.faults === 'stopped'),
    ...(w.exhaustive.length === 0 ? [['4. Exhaustive', 'not tried'] as [string, string]] : []),
    ...w.exhaustive.map((view): [string, string] => [
      `4. Exhaustive: ${view.view}`,
      viewText(view),
    ]),
    [
      '5. Chip',
      w.chip.length === 0
        ? 'not shown'
        : counted(w.chip.length, 'change', 'changes') + ' at its pins',
    ],
  ];
}

/** Way 4 has settings of its own, whatever is tested. */
export const SCALED_NOTE =
  'Way 4 is a small scope with settings and limits of its own, as short as they may be: its counts are the same whatever settings are tested.';

function viewText({ states, transitions, isComplete, ...view }: ViewResult): string {
  const came =
    view.cameInForce.length === 0
      ? 'no cutoff came in force'
      : `in force came ${andList(view.cameInForce)}`;
  const back = `from ${decimal(view.recovered, 0)} it came back to spraying within ${decimal(view.recoveryMsMax, 0)}${NBSP}ms`;
  return `${counted(states, 'state')}, ${counted(transitions, 'transition')}${isComplete ? ', all there are' : ', not all'}; ${came}; ${back}`;
}

/** Where it stopped among the faults, what has no count yet was not tried. */
function faultRows(f: FaultCounts, isStopped: boolean): [string, string][] {
  const everyMs = f.everyTicks * 20;
  const told = (count: number, text: string) => (isStopped && count === 0 ? 'not tried' : text);
  return [
    [
      '3. Faults: the demo runs',
      `${counted(f.kinds, 'kind')} at ${counted(f.points, 'point')}, every ${decimal(everyMs, 0)}${NBSP}ms; ${counted(f.branches, 'branch', 'branches')} in all runs, pairs and recorded runs among them; in ${decimal(f.takenAway, 0)} of them an input was taken away and what was sprayed compared; ${counted(f.resets, 'reset')} beside them`,
    ],
    [
      '3. Faults: pairs of kinds',
      told(
        f.pairs,
        `${counted(f.pairs, 'branch', 'branches')} of them, at ${counted(f.pairPoints, 'point')} chosen by chance: ${pairsText(f)}`,
      ),
    ],
    ...f.traces.map((trace): [string, string] => [
      `3. Faults: ${trace.name}`,
      `${counted(trace.points, 'point')}, every ${decimal(f.traceEveryTicks * 20, 0)}${NBSP}ms of ${decimal(trace.ticks / 50, 0)}${NBSP}s: ${counted(trace.branches, 'branch', 'branches')} of them`,
    ]),
    ['3. Faults: changed bits', told(f.flips, flipsText(f))],
  ];
}

/** How many of all pairs of kinds came. */
export function pairsText({ pairs, pairsThere }: FaultCounts): string {
  const each = Math.floor(pairs / pairsThere);
  if (each === 0) return `of ${counted(pairsThere, 'pair')} not every one`;
  return `each of ${counted(pairsThere, 'pair')}${each > 1 ? ` ${decimal(each, 0)} times` : ''}`;
}

function strayedText({ strayed, strayedMsMax }: FlipCounts): string {
  if (strayed === 0) return 'in none of them a property did not hold before';
  return `in ${decimal(strayed, 0)} of them some property did not hold before, up to ${decimal(strayedMsMax / 1000, 2)} s after the change`;
}

/** What changed bits came to. */
export function flipsText(f: FlipCounts): string {
  const found =
    f.found === 0
      ? ''
      : `, ${decimal(f.found, 0)} found within ${decimal(f.foundMsMax / 1000, 2)} s`;
  return [
    `${counted(f.flips, 'bit')} of the guarded state, each found in the next tick`,
    `${counted(f.settingFlips, 'bit')} of the ${counted(f.settingsNumbers, 'number')} that settings and limits were compiled to${found}, ${decimal(f.putBack, 0)} right again before; ${strayedText(f)}`,
    `${counted(f.recordFlips, 'bit')} of the settings record, without effect`,
  ].join('; ');
}
