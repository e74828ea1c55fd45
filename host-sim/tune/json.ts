/**
 * A search's outcome as one JSON object: seconds, litres, degC and degree-seconds, as docs/tuning.md
 * lists them. The front has all its members.
 */
import { REASONS } from '../../controller/reasons.js';
import type { Settings } from '../../controller/settings.js';
import { formatValue } from '../settings/format.js';
import { degreeSeconds, NOTHING_COUNTED_DC, type Measure, type Won } from './measure.js';
import { settingsOf, type Outcome } from './outcome.js';
import type { Result } from './results.js';
import { CUT, SPREAD } from './disturb.js';
import type { Range, Spread } from './spread.js';
import { TICK_MS } from './track.js';
import { ticksOfAll } from './words.js';

/** The object that `--json` prints. */
export function outcomeJson(outcome: Outcome): unknown {
  const { head, board, today, picks, tracks, effects } = outcome;
  const measured = (result: Result) => ({
    ...measureJson(result.total, ticksOfAll(outcome)),
    traces: result.traces.map((measure, i) => measureJson(measure, tracks[i].ticks)),
  });
  return {
    loop: head.loop,
    traces: tracks.map(({ name, ticks }) => ({ name, seconds: seconds(ticks) })),
    settings: outcome.settingsName,
    search: head.search,
    seed: head.seed,
    runs: board.runs,
    outsideRange: outcome.outside,
    againstCrossCheck: outcome.refused,
    targetC: head.targetDc / 10,
    ...(outcome.todaySpread && { spread: drawnJson(head.loop, outcome.todaySpread.draws) }),
    today: {
      ...measured(today),
      ...(outcome.todaySpread && { spread: spreadJson(outcome.todaySpread) }),
    },
    picks: Object.fromEntries(
      picks.map((pick) => [
        pick.name,
        {
          changes: Object.fromEntries(
            pick.changes.map((change) => [change.row.name, formatValue(change.row, change.pick)]),
          ),
          why: pick.words,
          warnings: pick.warnings,
          check: pick.check,
          ...measured(pick.result),
          ...(pick.spread && { spread: spreadJson(pick.spread) }),
        },
      ]),
    ),
    missing: outcome.missing,
    front: board.front.members.map((result) => frontJson(outcome, result)),
    traceFronts: board.traceFronts.map(({ members }) =>
      members.map((result) => frontJson(outcome, result)),
    ),
    matters: effects.map(({ name, water, heat }) => ({ name, water, heat })),
  };
}

/** What was disturbed and by how much. */
function drawnJson(loop: 'open' | 'closed', draws: number): unknown {
  const standardDeviations = {
    chargeOffsetC: SPREAD.chargeOffsetDc / 10,
    chargeNoiseC: SPREAD.chargeNoiseDc / 10,
    boostOffsetHpa: SPREAD.boostOffsetHpa,
    boostNoiseHpa: SPREAD.boostNoiseHpa,
    weatherC: SPREAD.weatherDc / 10,
    humidityShare: SPREAD.humidityPm / 1000,
    flowShare: SPREAD.flowPm / 1000,
    ...(loop === 'closed' && {
      offsetRpm: SPREAD.offsetRpm,
      noiseRpm: SPREAD.noiseRpm,
      ambientOffsetC: SPREAD.ambientOffsetDc / 10,
      ambientNoiseC: SPREAD.ambientNoiseDc / 10,
      humidityOffsetShare: SPREAD.humidityOffsetPm / 1000,
    }),
  };
  return { loop, draws, standardDeviations, cutAtDeviations: CUT };
}

function spreadJson({ draws, water, heat, kept, isKnifeEdge }: Spread): unknown {
  const scaled = ({ p10, p90, worst }: Range, of: (value: number) => number) => ({
    p10: of(p10),
    p90: of(p90),
    worst: of(worst),
  });
  return {
    draws,
    waterL: scaled(water, (ul) => ul / 1e6),
    heatCs: scaled(heat, (sum) => Number(degreeSeconds(sum).toFixed(3))),
    kept,
    knifeEdge: isKnifeEdge,
  };
}

function frontJson({ board }: Outcome, result: Result): unknown {
  const { waterUl, heat } = result.total;
  return {
    run: result.n,
    waterL: waterUl / 1e6,
    heatCs: Number(degreeSeconds(heat).toFixed(3)),
    settings: variedSettings(board.space.variations, settingsOf(board, result)),
  };
}

function variedSettings(
  variations: Outcome['board']['space']['variations'],
  settings: Settings,
): Record<string, string> {
  return Object.fromEntries(
    variations.map(({ row }) => [row.name, formatValue(row, settings[row.field])]),
  );
}

function measureJson(measure: Measure, ticks: number): Record<string, unknown> {
  const { waterUl, heat, hotTicks, worstDc, bursts, sprayTicks, reasonTicks } = measure;
  const held = REASONS.map(({ id }, i): [string, number] => [id, reasonTicks[i]])
    .filter(([, count]) => count > 0)
    .sort((a, b) => b[1] - a[1]);
  return {
    waterL: waterUl / 1e6,
    heatCs: Number(degreeSeconds(heat).toFixed(3)),
    overTargetShare: hotTicks / ticks,
    hottestC: worstDc === NOTHING_COUNTED_DC ? null : worstDc / 10,
    sprays: bursts,
    spraySeconds: seconds(sprayTicks),
    ...(measure.won && wonJson(measure.won)),
    reasons: Object.fromEntries(held.map(([id, count]) => [id, seconds(count)])),
  };
}

function wonJson({ density, wonDc, dryHotTicks }: Won): Record<string, number | null> {
  const mean = (sum: number, decimals: number) =>
    dryHotTicks === 0 ? null : Number((sum / dryHotTicks).toFixed(decimals));
  return {
    wonK: mean(wonDc / 10, 3),
    densityWonShare: mean(density / 1000, 5),
    dryOverTargetSeconds: seconds(dryHotTicks),
  };
}

function seconds(ticks: number): number {
  return (ticks * TICK_MS) / 1000;
}
