/**
 * One moment of a run in words: values of the strips, tank, reason. Times in ms since the first tick.
 */
import { clock, decimal, temperature } from '../../report/format.js';
import { wordsFor } from '../../report/words.js';
import type { ModelRun } from '../../closed-loop/model-run.js';
import type { Run } from '../../replay/run.js';
import type { ChannelName, Trace } from '../../trace/trace.js';
import { firstAtOrAfter, firstBy } from '../pyramid.js';

/** The last row at or before a moment. */
function rowAt({ timeMs }: Trace, ms: number): number {
  return Math.max(0, firstAtOrAfter(timeMs, ms + 1) - 1);
}

const SHOWN: Readonly<Partial<Record<ChannelName, (value: number) => string>>> = {
  charge: temperature,
  boost: (hpa) => `${decimal(hpa / 1000, 2)} bar`,
  rpm: (rpm) => `${decimal(rpm, 0)} 1/min`,
  speed: (dkmh) => `${decimal(dkmh / 10, 0)} km/h`,
};

/** What each strip shows at a moment. */
export function valuesAt(run: Run, ms: number): Record<string, string> {
  const row = rowAt(run.trace, ms);
  const values: Record<string, string> = { tank: `${decimal(tankAt(run, ms) / 1e6, 2)} L` };
  for (const [channel, text] of Object.entries(SHOWN)) {
    const column = run.trace.columns[channel as ChannelName];
    if (column !== undefined) values[channel] = text(column[row]);
  }
  if (run.model !== undefined) Object.assign(values, modelledAt(run.model, ms));
  return values;
}

/** Charge and film, by the model. */
function modelledAt({ series }: ModelRun, ms: number): Record<string, string> {
  const { timeMs, wetDc, dryDc, filmDml } = series;
  const at = Math.max(0, firstAtOrAfter(timeMs, ms + 1) - 1);
  const dry = dryDc[at] === wetDc[at] ? '' : `, dry ${decimal(dryDc[at] / 10, 1)}`;
  return {
    charge: `${temperature(wetDc[at])}${dry}`,
    film: `${decimal(filmDml[at] / 10, 1)} ml`,
  };
}

/** The estimate on the straight line between two entries of the account. */
function tankAt({ tank }: Run, ms: number): number {
  const next = firstBy(tank, ([atMs]) => atMs > ms);
  if (next === 0 || next === tank.length) return tank[Math.max(0, next - 1)][1];
  const [[fromMs, from], [toMs, to]] = [tank[next - 1], tank[next]];
  return from + ((to - from) * (ms - fromMs)) / Math.max(1, toMs - fromMs);
}

/** The reason at a moment, and because of what. */
export function reasonAt(run: Run, ms: number): string {
  const index = firstBy(run.spans, ({ toMs }) => toMs > ms);
  const reason = run.spans[Math.min(index, run.spans.length - 1)]?.reason ?? '';
  return reason === '' ? '' : `${reason}: ${wordsFor(reason).because}`;
}

/** A moment as the slider says it. */
export function spoken(run: Run, ms: number): string {
  const { charge, boost, rpm } = valuesAt(run, ms);
  return `${clock(ms, 2)}, ${reasonAt(run, ms)}; charge ${charge}, boost ${boost}, engine ${rpm}`;
}
