/**
 * A trace of looks as CSV, under the headers of the tick record, which every reader of traces takes.
 * Integers in the core's units; health as a hexadecimal word.
 */
import type { ChannelName, Trace } from '../trace/trace.js';

const HEADERS: Readonly<Partial<Record<ChannelName, string>>> = {
  ...{ rpm: 'rpm', boost: 'boost_hpa', charge: 'charge_dc', ambient: 'ambient_dc' },
  ...{ speed: 'speed_dkmh', supply: 'supply_mv', humidity: 'humidity_pm', level: 'level' },
  ...{ arm: 'armed', stage: 'stage', button: 'button' },
};

/** The whole text. */
export function traceCsv({ timeMs, columns, faults }: Trace): string {
  const channels = (Object.keys(HEADERS) as ChannelName[]).filter(
    (channel) => columns[channel] !== undefined,
  );
  const head = ['time_ms', ...channels.map((channel) => HEADERS[channel]), 'health'];
  const rows = Array.from(timeMs, (ms, row) => [
    ms,
    ...channels.map((channel) => columns[channel]?.[row]),
    `0x${(faults?.[row] ?? 0).toString(16)}`,
  ]);
  return [head, ...rows].map((cells) => `${cells.join(',')}\n`).join('');
}
