/**
 * What strays in a spread, by how much, and on what it acts in each loop: the rows behind the sentence of a
 * result and the table of docs/tuning.md. Sizes are standard deviations, as text.
 */
import { decimal, NBSP, temperature } from '../report/format.js';
import { SPREAD } from './disturb.js';

export interface Strayed {
  readonly what: string;
  readonly size: string;
  /** What it acts on with recorded temperatures; left out where it does not stray there. */
  readonly open?: string;
  /** What it acts on in the model. */
  readonly closed: string;
}

const READ = 'what the core reads';

/** In the order in which they are told. */
export const STRAYED: readonly Strayed[] = [
  {
    what: 'charge sensor',
    size: pair(temperature(SPREAD.chargeOffsetDc), temperature(SPREAD.chargeNoiseDc)),
    open: READ,
    closed: READ,
  },
  {
    what: 'boost sensor',
    size: pair(sized(SPREAD.boostOffsetHpa, 'hPa'), sized(SPREAD.boostNoiseHpa, 'hPa')),
    open: READ,
    closed: `${READ}; the engine has the recorded boost`,
  },
  {
    what: 'engine speed',
    size: pair(sized(SPREAD.offsetRpm, '1/min'), sized(SPREAD.noiseRpm, '1/min')),
    closed: `${READ}; a standing engine reads 0`,
  },
  {
    what: 'ambient sensor',
    size: pair(temperature(SPREAD.ambientOffsetDc), temperature(SPREAD.ambientNoiseDc)),
    closed: READ,
  },
  {
    what: 'humidity sensor',
    size: `${sized(SPREAD.humidityOffsetPm / 10, '%')} offset`,
    closed: READ,
  },
  {
    what: 'air outside',
    size: temperature(SPREAD.weatherDc),
    open: 'ambient, and by as much the charge',
    closed: 'the air of the model, and the car that stood in it',
  },
  {
    what: 'relative humidity',
    size: sized(SPREAD.humidityPm / 10, '%'),
    open: READ,
    closed: 'the air of the model, which takes up less water when it is moist',
  },
  {
    what: 'flow',
    size: sized(SPREAD.flowPm / 10, '%'),
    open: 'the water',
    closed: 'the water, and what wets the cooler; the core counts by its setting',
  },
];

function pair(offset: string, noise: string): string {
  return `${offset} offset and ${noise} noise`;
}

function sized(value: number, unit: string): string {
  return `${decimal(value, 0)}${NBSP}${unit}`;
}
