/**
 * A recorded channel on an even grid: the mean over each step of straight lines between the rows. Values
 * in the core's units in and out.
 */
import { LIMITS } from '../../controller/limits.js';
import type { ChannelName, Trace } from './trace.js';

/**
 * The means of `count` steps of `stepS` from the trace's start, of a channel it has. A temperature that no
 * sensor reads (an open wire) is left out.
 */
export function meansOf(
  { timeMs, columns }: Trace,
  channel: ChannelName,
  stepS: number,
  count: number,
): Float64Array {
  const column = columns[channel] as Int32Array;
  const isTemperature = channel === 'charge' || channel === 'ambient';
  const least = isTemperature ? LIMITS.temperatureDcMin : -Infinity;
  const most = isTemperature ? LIMITS.temperatureDcMax : Infinity;
  // The area under the lines up to the end of each step.
  const areas = new Float64Array(count + 1);
  let last = column.find((value) => value >= least && value <= most) ?? column[0];
  let lastMs = 0;
  let area = 0;
  let step = 1;
  for (let row = 0; row < timeMs.length && step <= count; row += 1) {
    const value = column[row];
    const ms = timeMs[row];
    if (value < least || value > most) continue;
    for (; step <= count && step * stepS * 1000 <= ms; step += 1) {
      const spanMs = step * stepS * 1000 - lastMs;
      const there = ms > lastMs ? last + ((value - last) * spanMs) / (ms - lastMs) : value;
      areas[step] = area + ((last + there) / 2) * spanMs;
    }
    area += ((last + value) / 2) * (ms - lastMs);
    [last, lastMs] = [value, ms];
  }
  // Behind the last row that counts its value stands.
  for (; step <= count; step += 1) areas[step] = area + last * (step * stepS * 1000 - lastMs);
  return Float64Array.from({ length: count }, (_, i) => (areas[i + 1] - areas[i]) / (stepS * 1000));
}

/** Relative humidity where nobody says one, 0.1 %. */
export const ASSUMED_HUMIDITY_PM = 500;

/** The mean of the recorded relative humidity, 0.1 %; undefined if there is none. */
export function meanHumidityPm({ columns: { humidity } }: Trace): number | undefined {
  if (humidity === undefined) return undefined;
  let sum = 0;
  for (const value of humidity) sum += value;
  return sum / humidity.length;
}
