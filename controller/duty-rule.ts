/**
 * The one relation between settings that is more than a comparison of two: a hot charge's bursts must
 * keep the share of spraying by themselves. A module of its own, because the device's check of settings,
 * which has no sentences, uses it too.
 */
import type { Settings } from './settings.js';

/** burst / (burst + restHot) <= duty, without the division; both products stay under 2^27. */
export function keepsDuty(settings: Settings): boolean {
  const cycleMs = settings.burstMs + settings.restHotMs;
  return settings.burstMs * 1000 <= settings.dutyPm * cycleMs;
}
