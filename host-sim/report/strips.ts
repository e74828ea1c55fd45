/**
 * Which strips a picture of a run has, from the top: the recorded channel, name and unit, and the
 * thresholds with their labels. Shared by the page's figure and by the workbench, so that both say the
 * same. Values are in the core's units, heights in CSS pixels.
 */
import type { Run } from '../replay/run.js';
import type { ChannelName } from '../trace/trace.js';
import { decimal } from './format.js';

/** A value that decides, with what is written at the end of its line. */
export interface Threshold {
  readonly value: number;
  readonly label: string;
  /** The second run's, in a comparison. */
  readonly second?: boolean;
  /** A label without a line, where a tint already shows the place. */
  readonly quiet?: boolean;
}

/** A strip that shows a recorded channel; values of thresholds and tint are in the core's units. */
export interface StripPlan {
  readonly channel: ChannelName;
  readonly name: string;
  readonly unit: string;
  readonly height: number;
  /** Core units in one unit of the strip. */
  readonly scale: number;
  readonly zero?: boolean;
  readonly className: string;
  readonly thresholds: readonly Threshold[];
  readonly tint?: readonly [number, number];
}

/** What strips are made of: known before a run is whole. */
export type Planned = Pick<Run, 'trace' | 'settings' | 'cutoffs' | 'model'>;

/** The strips of a run, from the top; those of a run's missing channels are left out by who draws. */
export function stripPlans(run: Planned, compare: Planned | undefined): StripPlan[] {
  const { settings } = run;
  const other = compare?.settings;
  const second = (value: number | undefined, own: number, label: string): Threshold[] =>
    value === undefined || value === own ? [] : [{ value, label: `${label} B`, second: true }];

  return [
    {
      channel: 'charge',
      name: 'Charge',
      unit: chargeUnit(run),
      height: 150,
      scale: 10,
      className: 'heat',
      tint: [settings.tempOnDc, settings.tempOnDc - settings.tempHysteresisDc],
      thresholds: [
        { value: settings.tempOnDc, label: `tempOn ${decimal(settings.tempOnDc / 10, 1)}` },
        {
          value: settings.tempOnDc - settings.tempHysteresisDc,
          label: `lets go ${decimal((settings.tempOnDc - settings.tempHysteresisDc) / 10, 1)}`,
          quiet: true,
        },
        ...second(
          other?.tempOnDc,
          settings.tempOnDc,
          `tempOn ${decimal((other?.tempOnDc ?? 0) / 10, 1)}`,
        ),
        ...floorThreshold(run),
      ],
    },
    {
      channel: 'boost',
      name: 'Boost',
      unit: 'bar',
      height: 76,
      scale: 1000,
      zero: true,
      className: 'press',
      tint: [settings.boostOnHpa, settings.boostOnHpa - settings.boostHysteresisHpa],
      thresholds: [
        { value: settings.boostOnHpa, label: `boostOn ${decimal(settings.boostOnHpa / 1000, 2)}` },
        ...second(
          other?.boostOnHpa,
          settings.boostOnHpa,
          `boostOn ${decimal((other?.boostOnHpa ?? 0) / 1000, 2)}`,
        ),
      ],
    },
    {
      channel: 'rpm',
      name: 'Engine',
      unit: '1/min × 1000',
      height: 76,
      scale: 1000,
      zero: true,
      className: 'rev',
      tint: [settings.rpmOnRpm, settings.rpmOnRpm - settings.rpmHysteresisRpm],
      thresholds: [
        { value: settings.rpmOnRpm, label: `rpmOn ${decimal(settings.rpmOnRpm / 1000, 1)}` },
        ...second(
          other?.rpmOnRpm,
          settings.rpmOnRpm,
          `rpmOn ${decimal((other?.rpmOnRpm ?? 0) / 1000, 1)}`,
        ),
      ],
    },
    {
      channel: 'speed',
      name: 'Speed',
      unit: 'km/h',
      height: 52,
      scale: 10,
      zero: true,
      className: 'rev',
      thresholds: [],
    },
  ];
}

function chargeUnit(run: Planned): string {
  if (run.model !== undefined) return '°C by the model';
  const source = run.trace.sources.find(({ channel }) => channel === 'charge');
  return source?.note === undefined ? '°C after the cooler' : '°C, see columns';
}

/** The floor is drawn only where it played a part: its cutoff held. */
function floorThreshold(run: Planned): Threshold[] {
  const value = run.settings.floorDc;
  if (!run.cutoffs.some(({ id }) => id === 'too-cool')) return [];
  return [{ value, label: `floor ${decimal(value / 10, 1)}` }];
}
