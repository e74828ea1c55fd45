/**
 * Numbers, units and times as a reader sees them, and text from files made safe to show. Values
 * come in the core's integer units (see controller/settings.ts) and leave as strings with a true
 * minus sign and a no-break space before the unit; `forTerminal` turns those into plain ones.
 */
import { settingText } from '../../controller/settings-check.js';
import type { SettingRow } from '../../controller/settings.js';

/** No-break space: between a number and its unit. */
export const NBSP = '\u00a0';
const MINUS = '\u2212';

/** A number with fixed decimals, thousands set off by commas and a true minus sign; never "−0". */
export function decimal(value: number, decimals: number): string {
  const fixed = Math.abs(value).toFixed(decimals);
  const [whole, part] = fixed.split('.');
  const grouped = whole.replace(/\B(?=(\d{3})+$)/g, ',');
  const sign = value < 0 && Number(fixed) !== 0 ? MINUS : '';
  return sign + grouped + (part === undefined ? '' : `.${part}`);
}

/** The same, with a plus sign where it is more than zero: for differences. */
export function signed(value: number, decimals: number): string {
  const text = decimal(value, decimals);
  return Number(Math.abs(value).toFixed(decimals)) !== 0 && value > 0 ? `+${text}` : text;
}

/** A count and its noun: "1 spray", "13 sprays"; `plural` where an s is not enough. */
export function counted(count: number, noun: string, plural = `${noun}s`): string {
  return `${decimal(count, 0)}${NBSP}${count === 1 ? noun : plural}`;
}

/** "once", "twice", "13 times". */
export function times(count: number): string {
  if (count === 1) return 'once';
  if (count === 2) return 'twice';
  return `${decimal(count, 0)}${NBSP}times`;
}

/** 0.1 degC as "45.0 °C". */
export function temperature(dc: number): string {
  return `${decimal(dc / 10, 1)}${NBSP}°C`;
}

/** hPa as "0.30 bar". */
export function pressure(hpa: number): string {
  return `${decimal(hpa / 1000, 2)}${NBSP}bar`;
}

/** Microlitres as "48 ml" under a tenth of a litre, else "0.16 L". */
export function volume(ul: number): string {
  if (ul !== 0 && Math.abs(ul) < 100000) return `${decimal(ul / 1000, 0)}${NBSP}ml`;
  return `${decimal(ul / 1e6, 2)}${NBSP}L`;
}

/** A share of one as "22.4 %". */
export function percent(share: number): string {
  return `${decimal(share * 100, 1)}${NBSP}%`;
}

/** Milliseconds as seconds with one decimal: "75.9 s". */
export function seconds(ms: number): string {
  return `${decimal(ms / 1000, 1)}${NBSP}s`;
}

/** A length in words: "60 ms", "2.6 s", "2 min 34 s", "1 h 02 min". Rounded, so never "60 s". */
export function duration(ms: number): string {
  if (ms > 0 && ms < 100) return `${decimal(ms, 0)}${NBSP}ms`;
  if (ms < 99950) return seconds(ms);
  const whole = Math.round(ms / 1000);
  if (whole < 3600) return `${Math.floor(whole / 60)}${NBSP}min ${whole % 60}${NBSP}s`;
  const minutes = Math.round(ms / 60000);
  return `${Math.floor(minutes / 60)}${NBSP}h ${pad(minutes % 60)}${NBSP}min`;
}

/** A moment: "1:52", over an hour "1:02:03". Rounded down; `decimals` of a second if wanted. */
export function clock(ms: number, decimals = 0): string {
  const scale = 10 ** decimals;
  const units = Math.floor((ms * scale) / 1000 + 1e-6);
  const whole = Math.floor(units / scale);
  const part = decimals === 0 ? '' : `.${String(units % scale).padStart(decimals, '0')}`;
  const minutes = Math.floor(whole / 60);
  const rest = pad(whole % 60) + part;
  if (minutes < 60) return `${minutes}:${rest}`;
  return `${Math.floor(minutes / 60)}:${pad(minutes % 60)}:${rest}`;
}

function pad(value: number): string {
  return String(value).padStart(2, '0');
}

/**
 * A setting's value as a reader of the page sees it: exact, as a settings file has it, with real
 * degree signs; pressure in bar and shares in percent, as in the picture.
 */
export function settingValue(row: SettingRow, value: number): string {
  if (row.quantity === 'pressure') return `${exact(value / 1000, 2)}${NBSP}bar`;
  if (row.quantity === 'share') return `${exact(value / 10, 0)}${NBSP}%`;
  return settingText(row.name, value)
    .replace('degC', '°C')
    .replace('rpm', '1/min')
    .replace(/^-/, MINUS)
    .replace(/^\d{4,}/, (digits) => decimal(Number(digits), 0))
    .replace(/ /g, NBSP);
}

/** A value with at least so many decimals, and up to three where it has more. */
function exact(value: number, decimalsMin: number): string {
  let decimals = decimalsMin;
  while (decimals < 3 && Number(value.toFixed(decimals)) !== Number(value.toFixed(3)))
    decimals += 1;
  return decimal(value, decimals);
}

/**
 * Splits a whole among parts in steps of one so that the printed parts sum to the printed whole:
 * each is rounded down, and what is missing goes to those with the largest remainders (the method
 * known from apportionment as Hamilton's). Parts and whole are in the same unit, already scaled so
 * that one step is 1; the parts must sum to the whole within half a step.
 */
export function roundToSum(parts: readonly number[], whole: number): number[] {
  const rounded = parts.map((part) => Math.floor(part + 1e-9));
  let missing = Math.round(whole) - rounded.reduce((sum, part) => sum + part, 0);
  const order = parts
    .map((part, index) => ({ index, remainder: part - rounded[index] }))
    .sort((a, b) => b.remainder - a.remainder || a.index - b.index);
  for (const { index } of order) {
    if (missing <= 0) break;
    rounded[index] += 1;
    missing -= 1;
  }
  return rounded;
}

// Controls (ESC would steer a terminal) and marks of writing direction (they would reorder a line).
const UNSAFE =
  // eslint-disable-next-line no-control-regex -- these are the characters to be removed
  /[\u0000-\u001f\u007f-\u009f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb]/g;
const SHOWN_MAX = 120;

/** Text from a file, fit to be shown: one line, no controls, not longer than 120 characters. */
export function shown(text: string): string {
  const clean = [...wellFormed(text.slice(0, 4 * SHOWN_MAX)).replace(UNSAFE, '\ufffd')];
  if (clean.length <= SHOWN_MAX && text.length <= 4 * SHOWN_MAX) return clean.join('');
  return `${clean.slice(0, SHOWN_MAX - 1).join('')}\u2026`;
}

/** Half a surrogate pair cannot be written as UTF-8, so it becomes the replacement character. */
export function wellFormed(text: string): string {
  return text.replace(/\p{Surrogate}/gu, '\ufffd');
}

/** Any text, safe between tags and inside a quoted attribute. */
export function escaped(text: string): string {
  return text
    .replace(/&/g, '&amp;')
    .replace(/</g, '&lt;')
    .replace(/>/g, '&gt;')
    .replace(/"/g, '&quot;')
    .replace(/'/g, '&#39;');
}

/** Plain spaces and hyphens for the terminal, where text is searched and copied. */
export function forTerminal(text: string): string {
  return text.replace(/[\u00a0\u202f]/g, ' ').replace(/\u2212/g, '-');
}
