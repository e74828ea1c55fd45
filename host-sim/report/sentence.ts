/**
 * The sentence a report begins with: how often it sprayed, how much water that took, how hot the
 * charge was, what held it back, and which cutoffs held. As parts, so that a page can stress the
 * numbers and a terminal can leave them plain.
 */
import type { Run } from '../replay/run.js';
import { clock, duration, temperature, times, volume } from './format.js';
import type { CutoffSum, Sums } from './sums.js';
import { wordsFor } from './words.js';

export type Part = string | { readonly strong: string };

const CUTOFFS_TOLD = 3;

/** The whole sentence of one run, as parts. */
export function sentenceOf(run: Run, sums: Sums): Part[] {
  return [
    ...sprayed(run, sums),
    ' ',
    ...charge(run),
    ...(sums.sprayCount === 0 ? [] : [heldBack(sums)]),
    ...(sums.sprayCount === 0 ? [waited(sums)] : []),
    ' ',
    cutoffs(sums),
  ];
}

/** Only what was sprayed and how hot it was: for two runs beside each other. */
export function briefSentence(run: Run, sums: Sums): Part[] {
  return [...sprayed(run, sums), ' ', ...charge(run)];
}

/** The same as plain text. */
export function plainSentence(parts: readonly Part[]): string {
  return parts.map((part) => (typeof part === 'string' ? part : part.strong)).join('');
}

function sprayed(run: Run, sums: Sums): Part[] {
  if (sums.sprayCount === 0) {
    return ['It ', { strong: 'never sprayed' }, ` in ${duration(sums.lengthMs)}.`];
  }
  return [
    'It sprayed ',
    { strong: times(sums.sprayCount) },
    ` in ${duration(sums.lengthMs)} and used `,
    { strong: volume(run.waterUl) },
    ` of water; ${volume(run.tankEndUl)} were left.`,
  ];
}

function charge(run: Run): Part[] {
  const on = temperature(run.settings.tempOnDc);
  const most = { strong: temperature(run.chargeMaxDc) };
  if (run.aboveOnSeconds === 0) {
    return [`The charge never reached tempOn, ${on}: its hottest was `, most, '.'];
  }
  return [
    `The charge was at or above tempOn, ${on}, for `,
    { strong: duration(run.aboveOnSeconds * 1000) },
    ' and ',
    most,
    ' at its hottest.',
  ];
}

/** Short times with the decimal the table has, long ones in minutes. */
function held(tenths: number): string {
  return duration(tenths * 100);
}

/** The two longest reasons that are neither a spray nor a cutoff; cutoffs have their own sentence. */
function heldBack(sums: Sums): string {
  const told = sums.reasons
    .filter(({ id }) => ['rest', 'waiting'].includes(wordsFor(id).kind))
    .slice(0, 2)
    .map(({ id, tenths }) => `because ${wordsFor(id).because} (${held(tenths)})`);
  return told.length === 0 ? '' : ` When it did not spray, it was mostly ${told.join(' and ')}.`;
}

function waited(sums: Sums): string {
  const [first] = sums.reasons;
  if (first === undefined) return '';
  const { because } = wordsFor(first.id);
  return ` The longest reason: ${because} (${held(first.tenths)}).`;
}

function cutoffs(sums: Sums): string {
  const all = sums.cutoffs;
  if (all.length === 0) return 'No cutoff held.';
  const longest = [...all].sort((a, b) => b.totalMs - a.totalMs).slice(0, CUTOFFS_TOLD);
  const told = all
    .filter((cutoff) => longest.includes(cutoff))
    .map((cutoff) => cutoffClause(cutoff, sums.lengthMs));
  const others = all.length - told.length;
  const rest = others === 0 ? '' : `; so did ${others} more, see the list of cutoffs`;
  const text = `${told.join('; ')}${rest}.`;
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function cutoffClause(cutoff: CutoffSum, lengthMs: number): string {
  const { subject, stops } = wordsFor(cutoff.id);
  const lead = `${subject ?? cutoff.id} forbade ${stops ?? 'spraying'}`;
  const first = clock(cutoff.firstMs);
  if (cutoff.totalMs >= lengthMs) return `${lead} throughout`;
  if (cutoff.count === 1 && cutoff.atEnd) return `${lead} from ${first} to the end`;
  if (cutoff.count === 1) return `${lead} once, at ${first} for ${duration(cutoff.totalMs)}`;
  return `${lead} ${times(cutoff.count)}, first at ${first}, for ${duration(cutoff.totalMs)} in all`;
}
