/**
 * Generators that several tests share, made from the product's own tables. `settingsArbitrary` gives
 * complete sets of settings, in the core's units, that pass `checkSettings`: every value is drawn
 * from its row (often its initial value, often a bound), then the relations are repaired upwards.
 */
import fc from 'fast-check';
import { SETTINGS } from '../controller/settings.js';
import type { Settings } from '../controller/settings.js';

const DUTY_MAX_PM = SETTINGS.find((row) => row.name === 'duty')?.max ?? 0;

/** Valid settings; shrinks towards the lower bounds of the rows. */
export function settingsArbitrary(): fc.Arbitrary<Settings> {
  return rawSettingsArbitrary().map(repaired);
}

/** Settings within the bounds of each row, whose relations may be broken. */
export function rawSettingsArbitrary(): fc.Arbitrary<Settings> {
  const values = Object.fromEntries(
    SETTINGS.map((row) => [
      row.field,
      fc.oneof(fc.integer({ min: row.min, max: row.max }), fc.constant(row.initial)),
    ]),
  );
  return fc.record(values);
}

/** The nearest way up to settings whose relations hold; the bounds of the rows always allow it. */
export function repaired(settings: Settings): Settings {
  const s = { ...settings };
  s.tempHotDc = Math.max(s.tempHotDc, s.tempOnDc + 1);
  s.burstMs = Math.max(s.burstMs, s.minSprayMs);
  s.maxBurstMs = Math.max(s.maxBurstMs, s.burstMs, s.manualMs);
  s.restHotMs = Math.max(s.restHotMs, s.minRestMs);
  const neededPm = Math.ceil((s.burstMs * 1000) / (s.burstMs + s.restHotMs));
  s.dutyPm = Math.min(DUTY_MAX_PM, Math.max(s.dutyPm, neededPm));
  s.restHotMs = Math.max(s.restHotMs, Math.ceil((s.burstMs * 1000) / s.dutyPm - s.burstMs));
  s.restMs = Math.max(s.restMs, s.restHotMs);
  s.tankUl = Math.max(s.tankUl, s.reserveUl + 1);
  return s;
}
