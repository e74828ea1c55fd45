/**
 * Numbers of a plan as a reader sees them, each with its unit: text and page say them alike.
 */
import { clock, decimal, NBSP } from '../report/format.js';
import type { Air } from './itinerary.js';
import type { Range } from './range.js';

/** Millilitres as litres: "2.50 L". */
export function litres(ml: number): string {
  return `${decimal(ml / 1000, 2)}${NBSP}L`;
}

/** "412 ml". */
export function millilitres(ml: number): string {
  return `${decimal(ml, 0)}${NBSP}ml`;
}

/** "4.1 ml/s". */
export function rates(mlps: number): string {
  return `${decimal(mlps, 1)}${NBSP}ml/s`;
}

/** "5.8 bar". */
export function bars(bar: number): string {
  return `${decimal(bar, 1)}${NBSP}bar`;
}

/** "27 °C"; a tenth only where there is one. */
export function degC(value: number): string {
  return `${decimal(value, Number.isInteger(value) ? 0 : 1)}${NBSP}°C`;
}

/** "8.4 K". */
export function kelvins(k: number): string {
  return `${decimal(k, 1)}${NBSP}K`;
}

/** "27 °C and 45 %". */
export function airWords({ ambientDegC, humidity }: Air): string {
  return `${degC(ambientDegC)} and ${decimal(humidity * 100, 0)}${NBSP}%`;
}

/** A range in one unit: "2.90 L (2.50 to 3.40 L)"; the middle alone if its ends read the same. */
export function rangeWords(range: Range, text: (value: number) => string): string {
  const spread = spreadWords(range, text);
  return spread === '' ? text(range.median) : `${text(range.median)} (${spread})`;
}

/** The ends of a range: "2.50 to 3.40 L"; nothing if they read the same. */
export function spreadWords(range: Range, text: (value: number) => string): string {
  const [low, high] = [range.low, range.high].map(text);
  return low === high ? '' : `${low.split(NBSP)[0]} to ${high}`;
}

/** Minutes since midnight as a time of day, or since the start as "1:05". */
export function timeOfDay(minutes: number): string {
  const whole = Math.round(minutes);
  return `${Math.floor(whole / 60) % 24}:${String(whole % 60).padStart(2, '0')}`;
}

/** Minutes as "8:30" (minutes and seconds). */
export function stageTime(minutes: number): string {
  return clock(minutes * 60_000);
}
