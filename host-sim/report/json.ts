/**
 * A run as one JSON object for `--json`. All times are seconds from the first tick, water is in
 * litres, temperatures in degC. Numbers are rounded to what is known (ticks are 20 ms apart), so
 * that the same run always prints the same.
 */
import type { Run, SprayKind } from '../replay/run.js';
import type { ChannelSource, RowCounts } from '../trace/trace.js';
import { modelJson, type ModelJson } from './model.js';
import { sumUp } from './sums.js';

export interface SummaryJson {
  /** The trace's name. */
  readonly trace: string;
  /** The settings file's name, or 'initial settings'. */
  readonly settings: string;
  readonly ticks: number;
  readonly seconds: number;
  /** Number of sprays by kind; a kind that did not occur is 0. */
  readonly sprays: Readonly<Record<SprayKind, number>>;
  readonly spraySeconds: number;
  readonly waterL: number;
  readonly tankStartL: number;
  readonly tankEndL: number;
  /** Share of the run spent spraying, percent. */
  readonly dutyPct: number;
  /** How long the charge was at or above tempOn. */
  readonly aboveOnSeconds: number;
  readonly chargeMaxC: number;
  /** Seconds by reason, longest first; they sum to `seconds`. */
  readonly reasons: Readonly<Record<string, number>>;
  /** By cutoff id, in the order they first held: how often, when first, the longest, the total. */
  readonly cutoffs: Readonly<
    Record<string, { count: number; first: number; longest: number; total: number }>
  >;
  /** read = used + repaired + refused. */
  readonly rows: Readonly<RowCounts>;
  readonly columns: readonly ChannelSource[];
  readonly reference: { readonly hpa: number; readonly source: string };
  readonly between: 'hold' | 'linear';
  readonly rulesOff: readonly string[];
  readonly notes: readonly string[];
  /** Only where the model closed the loop. */
  readonly model?: ModelJson;
}

/** The summary of one run; several runs are the caller's `{"runs": [...]}`. */
export function summaryJson(run: Run): SummaryJson {
  const sums = sumUp(run);
  const sprays = { automatic: 0, manual: 0, precool: 0, service: 0 };
  for (const { kind, count } of sums.kinds) sprays[kind] = count;
  return {
    trace: run.trace.name,
    settings: run.settingsName,
    ticks: run.ticks,
    seconds: rounded(run.seconds, 2),
    sprays,
    spraySeconds: rounded(run.spraySeconds, 2),
    waterL: rounded(run.waterUl / 1e6, 6),
    tankStartL: rounded(run.tankStartUl / 1e6, 6),
    tankEndL: rounded(run.tankEndUl / 1e6, 6),
    dutyPct: rounded(sums.duty * 100, 3),
    aboveOnSeconds: rounded(run.aboveOnSeconds, 2),
    chargeMaxC: rounded(run.chargeMaxDc / 10, 1),
    reasons: Object.fromEntries(sums.reasons.map(({ id, ms }) => [id, ms / 1000])),
    cutoffs: Object.fromEntries(
      sums.cutoffs.map(({ id, count, firstMs, longestMs, totalMs }) => [
        id,
        { count, first: firstMs / 1000, longest: longestMs / 1000, total: totalMs / 1000 },
      ]),
    ),
    rows: { ...run.trace.rows },
    columns: run.trace.sources,
    reference: { hpa: run.trace.reference.hpa, source: run.trace.reference.source },
    between: run.between,
    rulesOff: run.rulesOff,
    notes: run.notes,
    ...(run.model && { model: modelJson(run.model) }),
  };
}

function rounded(value: number, decimals: number): number {
  return Number(value.toFixed(decimals));
}
