/**
 * Which columns are taken, by control.md's rule: charge, after cooler or manifold air, else intake
 * air; never coolant, ambient, oil, exhaust or pedal. Header words are common practice of loggers.
 */
import { expect, test } from 'vitest';
import { checkRoles } from '../../../host-sim/trace/header.js';
import type { ReadOptions } from '../../../host-sim/trace/trace.js';
import { column, faultOf, faultOfText, readText } from './read-text.js';

/** A file of these headers with two rows; cells by header, else 1. */
function file(headers: readonly string[], cells: Record<string, string> = {}): string {
  const row = (time: string) =>
    headers.map((header, i) => (i === 0 ? time : (cells[header] ?? '1'))).join('\t');
  return [headers.join('\t'), row('0'), row('0.1')].join('\n') + '\n';
}

/** The header that was taken for each channel. */
function taken(headers: readonly string[], options: ReadOptions = {}): Record<string, string> {
  const { sources } = readText(file(headers), options);
  return Object.fromEntries(sources.map(({ channel, header }) => [channel, header]));
}

const BASE = ['Time', 'RPM', 'Boost [bar]', 'Charge Temp'] as const;

test.each([
  ['Engine RPM', 'rpm'],
  ['Engine Speed [1/min]', 'rpm'],
  ['engine_speed_rpm', 'rpm'],
  ['EngineRPM', 'rpm'],
  ['Revs', 'rpm'],
  ['Speed (rpm)', 'rpm'],
])('%s is engine speed', (header) => {
  expect(taken(['Time', header, 'Boost [bar]', 'Charge Temp'])['rpm']).toBe(header);
});

test.each(['Turbo RPM', 'RPM Limit', 'Target Engine Speed [rpm]', 'Wheel Speed [rpm]', 'Fan rpm'])(
  '%s is not engine speed',
  (header) => {
    expect(taken([...BASE, header])['rpm']).toBe('RPM');
  },
);

test.each([
  ['Boost [bar]', 'bar gauge'],
  ['Boost Pressure (psi)', 'psi gauge'],
  ['boost_bar', 'bar gauge'],
  ['Boost kPa', 'kPa gauge'],
  ['Boost [kPa abs]', 'kPa absolute'],
  ['MAP [kPa]', 'kPa absolute'],
  ['map_kpa', 'kPa absolute'],
  ['Intake Manifold Absolute Pressure [kPa]', 'kPa absolute'],
  ['ManifoldPressure_mbar', 'mbar absolute'],
  ['Manifold Pressure (psig)', 'psi gauge'],
  ['Manifold Gauge Pressure [bar]', 'bar gauge'],
  ['Charge Pressure [bar abs]', 'bar absolute'],
])('%s is read in %s', (header, unit) => {
  const { sources } = readText(file(['Time', 'RPM', header, 'Charge Temp'], { [header]: '0.9' }));
  expect(sources.find(({ channel }) => channel === 'boost')).toMatchObject({ header, unit });
});

test.each([
  'Boost Target [bar]',
  'Boost Solenoid Duty [%]',
  'Baro [kPa]',
  'Fuel Pressure [bar]',
  'Oil Pressure [bar]',
  'Exhaust Manifold Pressure [bar]',
  'MAP Voltage [V]',
  'Map Switch',
])('%s is no boost', (header) => {
  expect(taken([...BASE, header])['boost']).toBe('Boost [bar]');
});

test.each([
  'Charge',
  'charge_c',
  'Charge Air Temp [°C]',
  'Intake Air Temp after Cooler',
  'Temp post Intercooler (°C)',
  'Intercooler Outlet Temperature',
  'Manifold Air Temperature',
  'MAT (degC)',
])('%s is charge', (header) => {
  const { sources } = readText(file(['Time', 'RPM', 'Boost [bar]', header, 'IAT', 'Oil Temp']));
  const charge = sources.find(({ channel }) => channel === 'charge');
  expect(charge?.header).toBe(header);
  expect(charge?.note ?? '').not.toContain('stands in');
});

test.each(['IAT', 'Intake Air Temperature [°C]', 'Inlet Temp', 'AirIntakeTemp'])(
  '%s stands in for charge, and the trace says so',
  (header) => {
    const { sources } = readText(file(['Time', 'RPM', 'Boost [bar]', header, 'Coolant Temp']));
    const charge = sources.find(({ channel }) => channel === 'charge');
    expect(charge?.header).toBe(header);
    expect(charge?.note).toContain('stands in');
  },
);

test.each([
  'Coolant Temperature [°C]',
  'Ambient Temperature [°C]',
  'Oil Temp [°C]',
  'Exhaust Temp [°C]',
  'EGT [°C]',
  'Pedal Position [%]',
  'Temp before Intercooler [°C]',
  'Intercooler Inlet Temp [°C]',
  'Compressor Outlet Temp [°C]',
  'Charge Temp Target [°C]',
  'Battery Charge [%]',
  'Charge Air Pressure [bar]',
  'IAT Sensor Voltage [V]',
])('%s is never charge', (header) => {
  const fault = faultOfText(file(['Time', 'RPM', 'Boost [bar]', header]));
  expect(fault.code).toBe('E-TRACE-06');
  expect(fault.message).toContain('charge temperature');
});

test('optional channels are found by their words', () => {
  const extras = {
    ambient: 'Ambient Air Temp [°C]',
    humidity: 'Relative Humidity [%]',
    speed: 'Vehicle Speed [km/h]',
    supply: 'Battery Voltage [V]',
  };
  expect(taken([...BASE, ...Object.values(extras)])).toMatchObject(extras);
});

test('vehicle speed is taken before speed by satellite, and wheels are not taken', () => {
  const headers = [...BASE, 'GPS Speed [km/h]', 'Wheel Speed FL [km/h]'];
  expect(taken(headers)['speed']).toBe('GPS Speed [km/h]');
  expect(taken([...headers, 'Vehicle Speed [km/h]'])['speed']).toBe('Vehicle Speed [km/h]');
});

test('two equally good candidates are an error that lists both and shows what to write', () => {
  const headers = ['Time', 'RPM', 'Boost [bar]', 'Charge Temp 1', 'Charge Temp 2'];
  const fault = faultOfText(file(headers));
  expect(fault.code).toBe('E-TRACE-07');
  expect(fault.exit).toBe(3);
  expect(fault.message).toContain('"Charge Temp 1" and "Charge Temp 2"');
  expect(fault.message).toContain('--column charge="Charge Temp 1"');
  expect(taken(headers, { columns: { charge: 'Charge Temp 2' } })['charge']).toBe('Charge Temp 2');
});

test('columns with the same header are told apart by their position', () => {
  const headers = ['Time', 'RPM', 'RPM', 'Boost [bar]', 'Charge'];
  expect(faultOfText(file(headers)).message).toContain('--column rpm="#2"');
  const trace = readText('Time,RPM,RPM,boost_bar,charge\n0,1,2,0,20\n', { columns: { rpm: '#3' } });
  expect(column(trace, 'rpm')).toEqual([2]);
});

test.each(['Boost', 'MAP', 'Manifold Pressure'])(
  'a pressure without a unit is refused (%s), with what to write',
  (header) => {
    const headers = ['Time', 'RPM', header, 'Charge'];
    const fault = faultOfText(file(headers));
    expect(fault.code).toBe('E-TRACE-08');
    const option = /--column (boost|map)="([^"]+)"/.exec(fault.message);
    // What the sentence says to write must be what the reader then takes.
    const columns = { [option?.[1] as string]: option?.[2] as string };
    expect(readText(file(headers), { columns }).sources).toContainEqual(
      expect.objectContaining({ channel: 'boost', header, named: true }),
    );
  },
);

test('a manifold pressure with its unit is better than a boost without one', () => {
  const headers = ['Time', 'RPM', 'Boost', 'MAP [kPa]', 'Charge'];
  expect(taken(headers)['boost']).toBe('MAP [kPa]');
});

test('a unit that is not known, or of another quantity, is refused', () => {
  expect(faultOfText(file(['Time', 'RPM', 'Boost [foo]', 'Charge'])).code).toBe('E-TRACE-09');
  const fault = faultOfText(file([...BASE, 'X [km/h]']), { columns: { ambient: 'X [km/h]' } });
  expect(fault.code).toBe('E-TRACE-09');
  expect(fault.column).toBe('X [km/h]');
});

test('a temperature or speed without a unit is read as degC or km/h, and the trace says so', () => {
  const { sources } = readText(file([...BASE, 'Vehicle Speed']));
  expect(sources.find(({ channel }) => channel === 'charge')?.note).toContain('degC');
  expect(sources.find(({ channel }) => channel === 'speed')?.note).toContain('km/h');
});

test('a named column is found by its header, its name or its number, whatever the case', () => {
  const headers = ['Time', 'RPM', 'Boost [bar]', 'T3 [°F]', 'Charge'];
  for (const charge of ['T3 [°F]', 't3 [degF]', 't3', 'T3', '#4']) {
    const trace = readText(file(headers, { 'T3 [°F]': '122' }), { columns: { charge } });
    expect(column(trace, 'charge'), charge).toEqual([500, 500]);
  }
});

test('a named column that is not there is refused with the nearest one', () => {
  const fault = faultOfText(file([...BASE, 'Sump']), { columns: { charge: 'Chrge Temp' } });
  expect(fault.code).toBe('E-TRACE-10');
  expect(fault.message).toContain('did you mean "Charge Temp"');
});

test('a named unit never overrides the unit in the file', () => {
  const fault = faultOfText(file(['Time', 'RPM', 'P [kPa]', 'Charge']), {
    columns: { boost: 'P [bar]' },
  });
  expect(fault.code).toBe('E-TRACE-10');
});

test('an empty name leaves a channel out', () => {
  const headers = [...BASE, 'Ambient Temp', 'Stage'];
  expect(taken(headers, { columns: { ambient: '' } })).not.toHaveProperty('ambient');
});

test('a column that the user gave to one channel is no candidate for another', () => {
  const headers = ['Time', 'RPM', 'Boost [bar]', 'Intake Air Temperature'];
  const columns = { ambient: 'Intake Air Temperature' };
  expect(faultOfText(file(headers), { columns }).code).toBe('E-TRACE-06');
});

test('the channel of a named column must be one we know', () => {
  const fault = faultOf(() => checkRoles({ rmp: 'Engine RPM' }));
  expect(fault.code).toBe('E-TRACE-11');
  expect(fault.exit).toBe(2);
  expect(fault.message).toContain('did you mean rpm?');
  expect(faultOf(() => checkRoles({ boost: 'a', map: 'b' })).code).toBe('E-TRACE-11');
});

test.each([
  ['boost', 'P1 [kPa]', 'kPa gauge'],
  ['map', 'P1 [kPa]', 'kPa absolute'],
  ['boost', 'MAP [kPa]', 'kPa absolute'],
  ['map', 'P1 [kPa gauge]', 'kPa gauge'],
])('named %s="%s" counts as %s: unit first, then words, then the name', (role, header, unit) => {
  const trace = readText(file(['Time', 'RPM', header, 'Charge']), { columns: { [role]: header } });
  expect(trace.sources.find(({ channel }) => channel === 'boost')?.unit).toBe(unit);
});

test('level, feedback, switches and health are taken only by their exact names', () => {
  const headers = [...BASE, 'Fuel Level', 'Level', 'Stage', 'Button'];
  const { columns } = readText(file(headers));
  for (const channel of ['level', 'feedback', 'stage', 'button', 'arm'] as const) {
    expect(columns[channel], channel).toBeUndefined();
  }
  const named = readText(file(headers), { columns: { level: 'Level', button: 'Button' } });
  expect(Array.from(named.columns.level ?? [])).toEqual([1, 1]);
  expect(Array.from(named.columns.button ?? [])).toEqual([1, 1]);
});

test('the sentence about a missing column lists the header, shortened and escaped', () => {
  const nasty = `\u001b[31m${'x'.repeat(100)}`;
  const { message } = faultOfText(file(['Time', 'RPM', nasty, 'Q'], {}));
  expect(message).not.toContain('\u001b');
  expect(message).toContain('\\u{1b}');
  expect(message).not.toContain('x'.repeat(60));
});
