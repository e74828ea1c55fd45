/**
 * The option `--weather 30degC,40%,950hPa`: temperature, relative humidity and pressure of the air, in
 * any order, each told by its unit. What it does not say is left to what it is laid over.
 */
import { Fault } from '../fault.js';
import { readMeasure } from '../settings/units.js';
import { shown } from '../shown.js';
import type { Weather } from './course.js';
import { boundsText } from './fields.js';
import { WEATHER_FIELDS } from './layout.js';

type Name = keyof typeof WEATHER_FIELDS;
const NAMES = Object.keys(WEATHER_FIELDS) as Name[];

/** What the option says; the rest is left out. Throws E-USAGE-03. */
export function givenWeather(text: string): Partial<Weather> {
  const given: Partial<Record<Name, number>> = {};
  for (const part of text.split(',').map((each) => each.trim())) {
    const name = NAMES.find((each) => readMeasure(part, WEATHER_FIELDS[each].units).ok);
    if (name === undefined) throw unreadable(text, part);
    if (given[name] !== undefined) {
      throw new Fault('E-USAGE-03', `--weather is ${shown(text)}; it says ${name} twice`);
    }
    given[name] = bounded(name, part);
  }
  const { ambient, humidity, pressure } = given;
  return {
    ...(ambient !== undefined && { ambientDegC: ambient }),
    ...(humidity !== undefined && { humidityPm: Math.round(humidity * 1000) }),
    ...(pressure !== undefined && { pressureHpa: pressure }),
  };
}

function unreadable(text: string, part: string): Fault {
  const example = 'write for example 30degC,40%,950hPa';
  return new Fault(
    'E-USAGE-03',
    `--weather is ${shown(text)}; ${shown(part)} is no temperature, humidity or pressure with its unit: ${example}`,
  );
}

function bounded(name: Name, part: string): number {
  const field = WEATHER_FIELDS[name];
  const reading = readMeasure(part, field.units);
  const value = reading.ok ? reading.value : NaN;
  if (value >= field.min && value <= field.max) return value;
  const sentence = `--weather: ${name} is ${shown(part)}; it must be ${boundsText(field)}`;
  throw new Fault('E-USAGE-03', sentence);
}
