/**
 * What page, text and messages say of a violation besides the property: the settings it was found in, and
 * whether a replay shows it. Takes rows of the report, gives phrases.
 */
import type { ShownViolation } from './report.js';

/** "precool on, rest 4.5 s"; '' where the tested settings were those of the plan. */
export function changedText({ changedSettings }: Pick<ShownViolation, 'changedSettings'>): string {
  return Object.entries(changedSettings)
    .map(([name, text]) => `${name} ${text}`)
    .join(', ');
}

/** The way, the plan, and the settings where they are not those tested. */
export function foundByText(violation: ShownViolation): string {
  const changed = changedText(violation);
  const settings = changed === '' ? '' : `, with ${changed}`;
  return `${violation.way}, ${violation.plan}${settings}`;
}

/** Why a replay of the saved trace does not show it; '' if it does. */
export function replayText({ whyNotReplayable }: ShownViolation): string {
  return whyNotReplayable === ''
    ? ''
    : `a replay of it cannot show the violation: ${whyNotReplayable}`;
}
