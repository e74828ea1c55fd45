/**
 * The options that close the loop with the model: `--car`, and what a trace may lack, `--weather` and
 * `--speed`. Declared once for every command that replays a trace.
 */
import type { Argv } from 'yargs';
import type { ModelOptions } from '../closed-loop/conditions.js';
import { Fault } from '../fault.js';
import { shown } from '../shown.js';
import type { Terminal } from '../terminal.js';

/** As yargs gives them. */
export interface ModelArguments {
  readonly car: string | undefined;
  readonly weather: string | undefined;
  readonly speed: string | undefined;
}

/** Slower counts as standstill, faster is not driven, km/h. */
const SPEED_KMH_MIN = 1;
const SPEED_KMH_MAX = 400;

/** Adds them to the options that are there. */
export function modelOptions<Options>(yargs: Argv<Options>) {
  return yargs
    .option('car', {
      type: 'string',
      requiresArg: true,
      describe:
        'car file (default is the built-in car): temperatures come from the model, and water cools',
    })
    .option('weather', {
      type: 'string',
      requiresArg: true,
      describe: 'with --car: air in place of the recorded, such as 30degC,40%,950hPa',
    })
    .option('speed', {
      type: 'string',
      requiresArg: true,
      describe: 'with --car: vehicle speed of a trace without, such as 80km/h',
    });
}

/** The model that is asked for; undefined without `--car`. Throws E-USAGE-02 and -03, E-CAR-nn. */
export async function modelOf(
  { car: path, weather, speed }: ModelArguments,
  terminal: Terminal,
): Promise<ModelOptions | undefined> {
  if (path === undefined) {
    const alone = weather === undefined ? (speed === undefined ? undefined : 'speed') : 'weather';
    if (alone === undefined) return undefined;
    throw new Fault('E-USAGE-02', `--${alone} goes with --car, which closes the loop by the model`);
  }
  const { readCar, DEFAULT_CAR } = await import('../car/read.js');
  const { givenWeather } = await import('../course/weather-option.js');
  const given = weather === undefined ? {} : givenWeather(weather);
  const speedKmh = speed === undefined ? undefined : await speedOf(speed);
  const { car, name, filled } = await readCar(path, terminal.input);
  return {
    car,
    carName: name,
    hasGears: path !== DEFAULT_CAR && !filled.includes('vehicle.gears'),
    weather: given,
    ...(speedKmh !== undefined && { speedKmh }),
  };
}

async function speedOf(text: string): Promise<number> {
  const { readCarQuantity } = await import('../car/quantity.js');
  const reading = readCarQuantity(text, 'speed');
  if (!reading.ok) throw new Fault('E-USAGE-03', `--speed is ${shown(text)}; ${reading.problem}`);
  const kmh = reading.value * 3.6;
  if (kmh >= SPEED_KMH_MIN && kmh <= SPEED_KMH_MAX) return Number(kmh.toFixed(3));
  const bounds = `it must be from ${SPEED_KMH_MIN} to ${SPEED_KMH_MAX} km/h`;
  throw new Fault('E-USAGE-03', `--speed is ${shown(text)}; ${bounds}`);
}
