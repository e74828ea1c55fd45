/**
 * The settings form, made from the settings table: which settings stand together, in what unit each is
 * typed, and by how much an arrow key moves it. Values go from the core's units to the text of an input
 * and back without losing a digit.
 */
import { SETTINGS, type SettingName, type SettingRow } from '../../controller/settings.js';

/** How a setting with a number is typed. */
export interface NumberInput {
  readonly unit: string;
  /** Core units in one typed unit. */
  readonly factor: number;
  /** What one press of an arrow key changes, in the typed unit. */
  readonly step: number;
}

export interface SettingGroup {
  readonly title: string;
  readonly names: readonly SettingName[];
}

/** Every setting once, those first that are turned most. */
export const SETTING_GROUPS: readonly SettingGroup[] = [
  {
    title: 'When to spray',
    names: [
      ...(['tempOn', 'tempHysteresis', 'rpmOn', 'rpmHysteresis', 'boostOn'] as const),
      ...(['boostHysteresis', 'demandHold', 'lookAhead'] as const),
    ],
  },
  {
    title: 'Bursts and rests',
    names: ['burst', 'rest', 'restHot', 'tempHot', 'manual', 'minSpray', 'minRest'],
  },
  {
    title: 'Water',
    names: [
      ...(['tank', 'reserve', 'flow', 'stageTime', 'minDepression'] as const),
      ...(['duty', 'dutyWindow', 'maxBurst', 'manualFromReserve'] as const),
    ],
  },
  {
    title: 'Standing still',
    names: ['precool', 'precoolOn', 'standstillDuty', 'standstillMax'],
  },
  {
    title: 'Protection',
    names: [
      ...(['floor', 'freeze', 'frostSensor', 'runRpm', 'rpmMax', 'lateAfter'] as const),
      ...(['levelAfter', 'supplyLow', 'supplyHigh'] as const),
    ],
  },
  { title: "The event's rules", names: ['automaticAllowed', 'manualAllowed'] },
];

/** The row of a setting. */
export function rowOf(name: SettingName): SettingRow {
  const row = SETTINGS.find((each) => each.name === name);
  if (row === undefined) throw new Error(`no setting is called ${name}`);
  return row;
}

const NUMBER_INPUTS: Readonly<
  Record<Exclude<SettingRow['quantity'], 'choice' | 'time'>, NumberInput>
> = {
  temperature: { unit: '°C', factor: 10, step: 0.5 },
  temperatureStep: { unit: '°C', factor: 10, step: 0.5 },
  speed: { unit: '1/min', factor: 1, step: 50 },
  pressure: { unit: 'bar', factor: 1000, step: 0.01 },
  share: { unit: '%', factor: 10, step: 1 },
  volume: { unit: 'L', factor: 1_000_000, step: 0.1 },
  flow: { unit: 'ml/s', factor: 1000, step: 0.1 },
  voltage: { unit: 'V', factor: 1000, step: 0.1 },
};

/** How a setting is typed; undefined for a choice of words. */
export function numberInput({ quantity, max }: SettingRow): NumberInput | undefined {
  if (quantity === 'choice') return undefined;
  if (quantity !== 'time') return NUMBER_INPUTS[quantity];
  if (max <= 500) return { unit: 'ms', factor: 1, step: 10 };
  return { unit: 's', factor: 1000, step: max <= 10_000 ? 0.1 : max <= 120_000 ? 0.5 : 10 };
}

/** A value as the text of its input. */
export function typed({ factor }: NumberInput, value: number): string {
  return String(value / factor);
}

/** The value of what was typed, in the core's units and rounded to them; NaN if it is no number. */
export function untyped({ factor }: NumberInput, text: string): number {
  const trimmed = text.trim().replace(',', '.');
  if (trimmed === '') return NaN;
  return Math.round(Number((Number(trimmed) * factor).toPrecision(15)));
}
