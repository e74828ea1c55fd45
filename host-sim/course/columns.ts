/**
 * The columns of a made run: what the sensors of a car on a course read, how each is headed in a CSV
 * file and by how much its cells are smaller than the core's units. The trace reader finds them by the
 * words of their headers and reads the cells back to the same integers.
 */
import type { ChannelName, Trace } from '../trace/trace.js';

/** One column of the file. */
export interface Column {
  readonly channel: ChannelName;
  readonly header: string;
  readonly unit: string;
  /** Decimals of a cell: the value in the core's unit is the cell times ten to this. */
  readonly places: number;
}

export const COLUMNS: readonly Column[] = [
  { channel: 'rpm', header: 'Engine speed [rpm]', unit: 'rpm', places: 0 },
  { channel: 'boost', header: 'Boost [bar]', unit: 'bar gauge', places: 3 },
  { channel: 'charge', header: 'Charge temperature [degC]', unit: 'degC', places: 1 },
  { channel: 'ambient', header: 'Ambient temperature [degC]', unit: 'degC', places: 1 },
  { channel: 'humidity', header: 'Relative humidity [%]', unit: '%', places: 1 },
  { channel: 'speed', header: 'Vehicle speed [km/h]', unit: 'km/h', places: 1 },
  { channel: 'supply', header: 'Supply voltage [V]', unit: 'V', places: 3 },
  { channel: 'level', header: 'level', unit: '', places: 0 },
  { channel: 'arm', header: 'armed', unit: '', places: 0 },
  { channel: 'stage', header: 'stage', unit: '', places: 0 },
  { channel: 'button', header: 'button', unit: '', places: 0 },
];

export const TIME_HEADER = 'Time [s]';

/** A made run as a comma-separated file with units in its header; lines end in LF. */
export function courseCsv({ timeMs, columns }: Trace): string {
  const lines = [[TIME_HEADER, ...COLUMNS.map(({ header }) => header)].join(',')];
  const series = COLUMNS.map(({ channel }) => columns[channel] as Int32Array);
  for (let row = 0; row < timeMs.length; row += 1) {
    let line = cellText(timeMs[row], 3);
    for (let i = 0; i < series.length; i += 1)
      line += `,${cellText(series[i][row], COLUMNS[i].places)}`;
    lines.push(line);
  }
  return `${lines.join('\n')}\n`;
}

function cellText(value: number, places: number): string {
  return (value / 10 ** places).toFixed(places);
}
