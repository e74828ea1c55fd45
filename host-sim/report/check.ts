/**
 * What `replay --check` found, for the replay page: what was checked, how many properties held, which were
 * violated and when, and which this run did not show. Takes the result, gives HTML.
 */
import type { CheckResult } from '../prove/check.js';
import { clock, counted, escaped } from './format.js';

/** A section of the page; `of` is ', A' where the page shows two runs and only the first was checked. */
export function checkSection({ ticks, held, violated, notShown }: CheckResult, of: string): string {
  const all = held + violated.length + notShown.length;
  const outcome =
    violated.length === 0
      ? `${counted(held, 'property', 'properties')} held throughout; none was violated.`
      : `${counted(violated.length, 'property', 'properties')} violated; ${held} held throughout.`;
  const say = `Every one of ${counted(ticks, 'tick')} was held to ${counted(all, 'property', 'properties')} of the contract (docs/evidence.md). ${outcome}`;
  const rows = violated.map(
    ({ property, sentence, atMs }) =>
      `<li><b>Violated at ${escaped(clock(atMs, 2))}: ${escaped(property)}.</b> ${escaped(sentence)}</li>`,
  );
  const left =
    notShown.length === 0
      ? ''
      : `<details><summary>${escaped(counted(notShown.length, 'property', 'properties'))} not shown by this run</summary>` +
        `<p class="small">Their condition never came: ${escaped(notShown.join('; '))}.</p></details>`;
  const list = rows.length === 0 ? '' : `<ul class="notes">${rows.join('')}</ul>`;
  return `<section><h2>Check against the contract${escaped(of)}</h2>\n<p>${escaped(say)}</p>${list}${left}</section>`;
}
