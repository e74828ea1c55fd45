/**
 * The core's own check of a complete set of settings, made once at set-up: every value a whole
 * number within the bounds of its row in settings.ts, and the relations between settings. What
 * breaks a rule is given as a sentence with value, bound, unit and why; the settings file's reader
 * and the device use the same sentences. Values are in the core's units; the sentences show them in
 * the units a person writes (450 is "45.0 degC").
 */
import { keepsDuty } from './duty-rule.js';
import { QUANTITY_UNITS, SETTINGS } from './settings.js';
import type { Quantity, SettingFault, SettingField, SettingName, Settings } from './settings.js';

/** A row of SETTINGS, seen without its literal types. */
interface Row {
  readonly name: string;
  readonly field: SettingField;
  readonly quantity: Quantity;
  readonly min: number;
  readonly max: number;
  readonly initial: number;
  readonly words?: readonly string[];
  readonly why: string;
}

const ROWS: readonly Row[] = SETTINGS;

/** Two settings of one quantity, where `low` must be under `high`, or may equal it. */
export interface SettingRelation {
  readonly low: SettingName;
  readonly high: SettingName;
  readonly mayEqual: boolean;
  readonly why: string;
}

/** Relations across settings. The share of spraying is one more, see `dutyFault`. */
export const SETTING_RELATIONS: readonly SettingRelation[] = [
  {
    low: 'tempOn',
    high: 'tempHot',
    mayEqual: false,
    why: 'between the two the rest shortens from rest to restHot',
  },
  {
    low: 'minSpray',
    high: 'burst',
    mayEqual: true,
    why: 'a burst that ends before the shortest spray would break one of the two promises',
  },
  {
    low: 'burst',
    high: 'maxBurst',
    mayEqual: true,
    why: 'the cutoff for long sprays would end every burst',
  },
  {
    low: 'manual',
    high: 'maxBurst',
    mayEqual: true,
    why: 'the cutoff for long sprays would end every burst by the button',
  },
  {
    low: 'minRest',
    high: 'restHot',
    mayEqual: true,
    why: 'no rest may be shorter than the shortest pause the pump is promised',
  },
  {
    low: 'restHot',
    high: 'rest',
    mayEqual: true,
    why: 'the rest gets shorter as the charge gets hotter, never longer',
  },
  {
    low: 'reserve',
    high: 'tank',
    mayEqual: false,
    why: 'otherwise there is no water that automatic spraying may use',
  },
];

/** The rule of the share of spraying, for lists of relations. */
export const DUTY_RELATION = {
  rule: 'burst / (burst + restHot) <= duty',
  why: 'otherwise the duty cutoff, not the rest, would pace the bursts of a hot charge',
} as const;

/** How a value is shown: decimal places of the unit, how many of them always, and the unit. */
interface Display {
  readonly places: number;
  readonly placesMin: number;
  readonly unit: string;
}

const DISPLAYS: Readonly<Record<Quantity, Display>> = {
  temperature: { places: 1, placesMin: 1, unit: ' degC' },
  temperatureStep: { places: 1, placesMin: 1, unit: ' degC' },
  speed: { places: 0, placesMin: 0, unit: ' rpm' },
  pressure: { places: 0, placesMin: 0, unit: ' hPa' },
  time: { places: 3, placesMin: 0, unit: ' s' },
  share: { places: 0, placesMin: 0, unit: ' permille' },
  volume: { places: 6, placesMin: 0, unit: ' L' },
  flow: { places: 3, placesMin: 0, unit: ' ml/s' },
  voltage: { places: 3, placesMin: 1, unit: ' V' },
  choice: { places: 0, placesMin: 0, unit: '' },
};

const MINUTE_MS = 60000;

/** A time whose bound is under this is shown in ms, because people think of it in ms. */
const SHOWN_IN_MS_UNDER = 1000;

/** A time whose bound is over this is shown in minutes where it is a whole number of them. */
const SHOWN_IN_S_UP_TO = 120000;

/** The initial value of every setting. */
export function initialSettings(): Settings {
  const settings = {} as Settings;
  for (let i = 0; i < ROWS.length; i += 1) settings[ROWS[i].field] = ROWS[i].initial;
  return settings;
}

/**
 * Every broken rule of a complete set, in the order of the table; an empty list means it is good.
 * The relations are judged only when each value by itself is good. Never throws.
 */
export function checkSettings(settings: Settings): SettingFault[] {
  const faults: SettingFault[] = [];
  for (let i = 0; i < ROWS.length; i += 1) {
    const sentence = valueFault(ROWS[i], settings[ROWS[i].field]);
    if (sentence !== '') faults.push({ name: ROWS[i].name, sentence });
  }
  if (faults.length > 0) return faults;
  for (let i = 0; i < SETTING_RELATIONS.length; i += 1) {
    const relation = SETTING_RELATIONS[i];
    const sentence = relationFault(relation, settings);
    if (sentence !== '') faults.push({ name: relation.low, others: [relation.high], sentence });
  }
  const sentence = dutyFault(settings);
  if (sentence !== '') faults.push({ name: 'burst', others: ['restHot', 'duty'], sentence });
  return faults;
}

/**
 * What is allowed but surely not meant, for a set that `checkSettings` found good. The core runs
 * with it: the cutoff or the duty window wins.
 */
export function settingWarnings(settings: Settings): SettingFault[] {
  const warnings: SettingFault[] = [];
  if (settings.floorDc > settings.tempOnDc - settings.tempHysteresisDc) {
    const sentence =
      assigned('floor', settings) +
      ', above tempOn minus tempHysteresis (' +
      settingText('tempOn', settings.tempOnDc - settings.tempHysteresisDc) +
      '): the cutoff wins, and ends bursts that the hysteresis would let go on';
    warnings.push({ name: 'floor', sentence });
  }
  warnOfNoRoom('burst', 'an automatic burst', settings, warnings);
  warnOfNoRoom('manual', 'a burst by the button', settings, warnings);
  return warnings;
}

/**
 * A value as a person writes it, e.g. "45.0 degC", "0.5 L", "off". Exact: no digit of a whole
 * number in the core's unit is lost. Not for values that are no whole numbers.
 */
export function settingText(name: SettingName, value: number): string {
  return textOf(rowOf(name), value);
}

/** The sentence for a value out of bounds; `shown` is the value as the reader knows it. */
export function rangeSentence(name: SettingName, shown: string): string {
  return rangeText(rowOf(name), shown);
}

function valueFault(row: Row, value: number): string {
  if (value === undefined) return row.name + ' is missing';
  if (typeof value !== 'number') return row.name + ' is not a number';
  // Rounding to 32 bits changes NaN, infinities, fractions and whatever is too large.
  if ((value | 0) !== value) {
    const unit = row.words ? 'one of ' + row.words.join(', ') : QUANTITY_UNITS[row.quantity].unit;
    return row.name + ' is ' + String(value) + ', not a whole number (in ' + unit + ')';
  }
  if (value >= row.min && value <= row.max) return '';
  return rangeText(row, textOf(row, value));
}

function rangeText(row: Row, shown: string): string {
  const is = row.name + ' is ' + shown + '; it must be ';
  if (row.words) return is + row.words.join(' or ');
  return is + textOf(row, row.min) + ' to ' + textOf(row, row.max) + ': ' + row.why;
}

function relationFault(relation: SettingRelation, settings: Settings): string {
  const low = settings[rowOf(relation.low).field];
  const high = settings[rowOf(relation.high).field];
  if (low < high) return '';
  if (low === high && relation.mayEqual) return '';
  return (
    assigned(relation.low, settings) +
    (relation.mayEqual ? '; it must be at most ' : '; it must be under ') +
    relation.high +
    ', which is ' +
    settingText(relation.high, high) +
    ': ' +
    relation.why
  );
}

function dutyFault(settings: Settings): string {
  if (keepsDuty(settings)) return '';
  return (
    assigned('burst', settings) +
    ' and ' +
    assigned('restHot', settings) +
    '; burst / (burst + restHot) must be at most duty, which is ' +
    settingText('duty', settings.dutyPm) +
    ': ' +
    DUTY_RELATION.why
  );
}

/** A burst starts only if the duty window has room for all of it (products stay under 2^27). */
function warnOfNoRoom(
  name: 'burst' | 'manual',
  what: string,
  settings: Settings,
  warnings: SettingFault[],
): void {
  const burstMs = name === 'burst' ? settings.burstMs : settings.manualMs;
  if (burstMs * 1000 <= settings.dutyWindowMs * settings.dutyPm) return;
  const sentence =
    assigned(name, settings) +
    ', more than duty allows in the whole dutyWindow (' +
    settingText('duty', settings.dutyPm) +
    ' of ' +
    settingText('dutyWindow', settings.dutyWindowMs) +
    '): ' +
    what +
    ' would never have room';
  warnings.push({ name, sentence });
}

function assigned(name: SettingName, settings: Settings): string {
  const row = rowOf(name);
  return name + ' is ' + textOf(row, settings[row.field]);
}

function rowOf(name: SettingName): Row {
  let i = 0;
  while (ROWS[i].name !== name) i += 1;
  return ROWS[i];
}

function textOf(row: Row, value: number): string {
  if (row.words && value >= 0 && value < row.words.length) return row.words[value];
  if (row.quantity === 'time') return timeText(value, row.max);
  return decimalText(value, DISPLAYS[row.quantity]);
}

function timeText(valueMs: number, maxMs: number): string {
  if (maxMs < SHOWN_IN_MS_UNDER) return String(valueMs) + ' ms';
  if (maxMs > SHOWN_IN_S_UP_TO) {
    let minutes = 0;
    let restMs = valueMs;
    for (; restMs >= MINUTE_MS; restMs -= MINUTE_MS) minutes += 1;
    if (restMs === 0) return String(minutes) + ' min';
  }
  return decimalText(valueMs, DISPLAYS.time);
}

/** Puts the decimal point into the digits of a whole number: no division, nothing lost. */
function decimalText(value: number, display: Display): string {
  const sign = value < 0 ? '-' : '';
  let digits = String(value < 0 ? -value : value);
  while (digits.length <= display.places) digits = '0' + digits;
  const pointAt = digits.length - display.places;
  let fraction = digits.substring(pointAt);
  while (fraction.length > display.placesMin && fraction.charAt(fraction.length - 1) === '0') {
    fraction = fraction.substring(0, fraction.length - 1);
  }
  const point = fraction === '' ? '' : '.' + fraction;
  return sign + digits.substring(0, pointAt) + point + display.unit;
}
