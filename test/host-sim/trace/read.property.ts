/**
 * Properties of the readers over generated files: every dialect of one table gives one trace, rows
 * are all counted, time always increases, no bytes crash the reader, and a tick record reads back.
 */
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { Fault } from '../../../host-sim/fault.js';
import { parseTrace } from '../../../host-sim/trace/parse.js';
import type { ReadOptions, Trace } from '../../../host-sim/trace/trace.js';
import { column, content } from './read-text.js';

interface Row {
  readonly timeMs: number;
  readonly rpm: number;
  readonly mbar: number;
  readonly chargeDc: number;
}

interface Dialect {
  readonly separator: ',' | ';' | '\t';
  readonly decimal: '.' | ',';
  readonly lineEnd: '\n' | '\r\n' | '\r';
  readonly isQuoted: boolean;
  readonly encoding: 'utf8' | 'bom' | 'latin1' | 'twice' | 'utf16le' | 'utf16be';
  readonly units: '[]' | '()' | '_' | 'row';
  readonly time: 's' | 'ms' | 'clock' | 'iso';
  readonly hasTrailing: boolean;
  readonly hasPreamble: boolean;
  readonly endsOpen: boolean;
}

const rowsArbitrary: fc.Arbitrary<Row[]> = fc
  .array(
    fc.record({
      timeMs: fc.integer({ min: 1, max: 500 }),
      rpm: fc.integer({ min: 0, max: 9000 }),
      mbar: fc.integer({ min: -900, max: 3000 }),
      chargeDc: fc.integer({ min: -300, max: 1500 }),
    }),
    { minLength: 1, maxLength: 30 },
  )
  .map((steps) => {
    let timeMs = 0;
    return steps.map((step, i) => ({ ...step, timeMs: (timeMs += i === 0 ? 0 : step.timeMs) }));
  });

const dialectArbitrary: fc.Arbitrary<Dialect> = fc
  .record({
    separator: fc.constantFrom(',', ';', '\t'),
    decimal: fc.constantFrom('.', ','),
    lineEnd: fc.constantFrom('\n', '\r\n', '\r'),
    isQuoted: fc.boolean(),
    encoding: fc.constantFrom('utf8', 'bom', 'latin1', 'twice', 'utf16le', 'utf16be'),
    units: fc.constantFrom('[]', '()', '_', 'row'),
    time: fc.constantFrom('s', 'ms', 'clock', 'iso'),
    hasTrailing: fc.boolean(),
    hasPreamble: fc.boolean(),
    endsOpen: fc.boolean(),
  } satisfies { [K in keyof Dialect]: fc.Arbitrary<Dialect[K]> })
  // A decimal comma in a comma-separated file needs quotes.
  .map((dialect) => (dialect.separator === ',' ? { ...dialect, decimal: '.' } : dialect));

function heading(name: string, unit: string, { units }: Dialect): string {
  if (units === '[]') return `${name} [${unit}]`;
  if (units === '()') return `${name} (${unit})`;
  return units === '_' ? `${name}_${unit}` : name;
}

function timeCell(timeMs: number, { time }: Dialect, number: (value: string) => string): string {
  if (time === 's') return number((timeMs / 1000).toFixed(3));
  if (time === 'ms') return String(timeMs);
  // Half an hour before midnight, so that long runs cross it.
  const iso = new Date(Date.UTC(2024, 1, 28, 23, 59, 58) + timeMs).toISOString();
  return time === 'iso' ? iso : iso.slice(11, 23);
}

function render(rows: readonly Row[], dialect: Dialect): Uint8Array {
  const number = (value: string) => value.replace('.', dialect.decimal);
  const quote = (cell: string) => (dialect.isQuoted ? `"${cell}"` : cell);
  const line = (cells: string[]) =>
    cells.map(quote).join(dialect.separator) + (dialect.hasTrailing ? dialect.separator : '');
  const timeName = dialect.time === 'ms' || dialect.time === 's' ? dialect.time : '';
  const names = [
    timeName === '' ? 'Time' : heading('Time', timeName, dialect),
    'Engine RPM',
    heading('Boost', 'bar', dialect),
    heading('Charge Temp', '°C', dialect),
  ];
  const lines = [line(names)];
  if (dialect.units === 'row') lines.push(line([timeName, 'rpm', 'bar', '°C']));
  if (dialect.hasPreamble) lines.unshift('Recorded on a day', '');
  for (const { timeMs, rpm, mbar, chargeDc } of rows) {
    const cells = [
      String(rpm),
      number((mbar / 1000).toFixed(3)),
      number((chargeDc / 10).toFixed(1)),
    ];
    lines.push(line([timeCell(timeMs, dialect, number), ...cells]));
  }
  return encode(lines.join(dialect.lineEnd) + (dialect.endsOpen ? '' : dialect.lineEnd), dialect);
}

function encode(text: string, { encoding }: Dialect): Uint8Array {
  if (encoding === 'latin1') return Buffer.from(text, 'latin1');
  if (encoding === 'twice') return Buffer.from(Buffer.from(text).toString('latin1'));
  if (encoding === 'utf8') return Buffer.from(text);
  if (encoding === 'bom') return Buffer.from(`\ufeff${text}`);
  const wide = Buffer.from(`\ufeff${text}`, 'utf16le');
  return encoding === 'utf16le' ? wide : wide.swap16();
}

test('every dialect of a table gives the same trace', () => {
  fc.assert(
    fc.property(rowsArbitrary, dialectArbitrary, (rows, dialect) => {
      const trace = parseTrace(render(rows, dialect), 'run.csv');
      expect(Array.from(trace.timeMs)).toEqual(rows.map(({ timeMs }) => timeMs));
      expect(column(trace, 'rpm')).toEqual(rows.map(({ rpm }) => rpm));
      expect(column(trace, 'boost')).toEqual(rows.map(({ mbar }) => mbar));
      expect(column(trace, 'charge')).toEqual(rows.map(({ chargeDc }) => chargeDc));
      const count = rows.length;
      expect(trace.rows).toEqual({ read: count, used: count, repaired: 0, refused: 0 });
    }),
    { numRuns: 400 },
  );
});

/** A trace, or the `Fault` that refused it; anything else that is thrown fails the property. */
function readOrFault(bytes: Uint8Array, options: ReadOptions = {}): Trace | Fault {
  try {
    return parseTrace(bytes, 'run.csv', options);
  } catch (error) {
    if (error instanceof Fault) return error;
    throw error;
  }
}

function checkTrace(trace: Trace): void {
  const { read, used, repaired, refused } = trace.rows;
  expect(used + repaired + refused).toBe(read);
  expect(Math.min(used, repaired, refused)).toBeGreaterThanOrEqual(0);
  expect(trace.leadingRows).toBeLessThanOrEqual(repaired);
  expect(trace.timeMs[0]).toBe(0);
  // One assertion for all values: thousands of them would take most of the run.
  const { timeMs } = trace;
  expect(timeMs.findIndex((time, i) => i > 0 && time <= timeMs[i - 1])).toBe(-1);
  for (const values of Object.values(trace.columns)) {
    expect(values.length).toBe(timeMs.length);
    expect(values.find((value) => Math.abs(value) >= 2 ** 30)).toBeUndefined();
  }
}

const cellArbitrary = fc.oneof(
  { weight: 12, arbitrary: fc.integer({ min: 0, max: 100 }).map(String) },
  { weight: 2, arbitrary: fc.constantFrom('', '-', 'NaN', 'null', '0.5', '1e2') },
  {
    weight: 1,
    arbitrary: fc.constantFrom('x', '1e99', 'Infinity', '=1', '99999999999', '0x1', '1.2.3'),
  },
);
const messyTime = fc.oneof(
  { weight: 10, arbitrary: fc.integer({ min: 0, max: 400 }).map((tenths) => String(tenths / 10)) },
  { weight: 1, arbitrary: fc.constantFrom('', 'x', '86399', '1e6', '12:00:00', '-1') },
);

test('rows read = used + repaired + refused, and time increases, whatever the cells', () => {
  let traces = 0;
  fc.assert(
    fc.property(
      fc.array(fc.tuple(messyTime, fc.array(cellArbitrary, { maxLength: 6 })), { maxLength: 40 }),
      fc.integer({ min: 0, max: 400 }),
      (rows, padding) => {
        const good = Array.from({ length: padding }, (_, i) => `${(i / 10).toFixed(1)},1,1,1,1`);
        const messy = rows.map(([time, cells]) => [time, ...cells].join(','));
        const lines = ['Time,RPM,Boost [bar],Charge,Ambient Temp', ...good, ...messy, ...good];
        const trace = readOrFault(Buffer.from(lines.join('\n')));
        if (trace instanceof Fault) return void expect(trace.exit).toBe(3);
        traces += 1;
        checkTrace(trace);
        const count = good.length * 2 + messy.filter((line) => line !== '').length;
        expect(trace.rows.read).toBe(count);
      },
    ),
    { numRuns: 300 },
  );
  // Were all of them refused, the property would have said nothing.
  expect(traces).toBeGreaterThan(20);
});

test('the time rule keeps every row of a run behind a backward step', () => {
  fc.assert(
    fc.property(
      fc.array(fc.integer({ min: 1, max: 62_000 }), { minLength: 3, maxLength: 40 }),
      fc.integer({ min: 3, max: 40 }),
      fc.integer({ min: 70_000, max: 3_600_000 }),
      (steps, at, backMs) => {
        let timeMs = 4_000_000;
        const rows = steps.map((step, i) => {
          timeMs += step - (i === at ? backMs + step : 0);
          return `${timeMs},${i},0,20`;
        });
        const trace = readOrFault(
          Buffer.from(['time_ms,RPM,boost_bar,charge', ...rows].join('\n')),
        );
        if (trace instanceof Fault) throw trace;
        checkTrace(trace);
        expect(column(trace, 'rpm')).toEqual(steps.map((_, i) => i));
        const isBack = at < steps.length;
        expect(trace.timeRepairs).toBe(isBack ? 1 : 0);
      },
    ),
  );
});

const headArbitrary = fc.constantFrom(
  '',
  'Time,RPM,Boost [bar],Charge\n',
  'Time;RPM;MAP [kPa];Charge\r\n0;1;100;20\r\n',
  '(1.5) can0 7E8#04410C1AF8AAAAAA\n',
  '\ufeff"Time"\t"RPM"',
  'kind: ',
);

test('no bytes crash the reader: a trace or a fault with a short sentence', () => {
  fc.assert(
    fc.property(
      headArbitrary,
      fc.oneof(
        fc.uint8Array({ maxLength: 400 }),
        fc.string({ maxLength: 200 }).map((text) => Buffer.from(text)),
        fc
          .array(fc.constantFrom(',', ';', '"', '\n', '\r', '1', '.', 'e', '-', ':', ' ', '0x'), {
            maxLength: 200,
          })
          .map((parts) => Buffer.from(parts.join(''))),
      ),
      (head, tail) => {
        const result = readOrFault(Buffer.concat([Buffer.from(head), tail]));
        if (!(result instanceof Fault)) return checkTrace(result);
        expect(result.message.length).toBeLessThan(1200);
        // eslint-disable-next-line no-control-regex -- that is what must not be there
        expect(result.message).not.toMatch(/[\u0000-\u001f\u007f]/);
      },
    ),
    { numRuns: 1000 },
  );
});

test('a file cut anywhere is read or refused, never more than was written', () => {
  const rows = Array.from({ length: 150 }, (_, i) => `${i}.0,${1000 + i},0.5,"40.5"`);
  const whole = ['Time,RPM,Boost [bar],Charge', ...rows].join('\n') + '\n';
  fc.assert(
    fc.property(fc.integer({ min: 0, max: whole.length }), (length) => {
      const result = readOrFault(Buffer.from(whole.slice(0, length)));
      if (!(result instanceof Fault)) {
        checkTrace(result);
        expect(result.rows.read).toBeLessThanOrEqual(150);
      }
    }),
  );
});

// The columns and their writing are control.md's "Tick record".
const TICK_HEADER =
  'time_ms,rpm,boost_hpa,charge_dc,ambient_dc,speed_dkmh,supply_mv,humidity_pm,level,feedback,' +
  'armed,stage,button,health,demand,spray,enable,reason,cutoffs,duty_pm,tank_ul,stage_left_ms,lamp';
const tickArbitrary = fc.record({
  rpm: fc.integer({ min: 0, max: 15_000 }),
  boost: fc.integer({ min: -1000, max: 5000 }),
  charge: fc.integer({ min: -400, max: 2000 }),
  ambient: fc.integer({ min: -400, max: 2000 }),
  speed: fc.integer({ min: 0, max: 3000 }),
  supply: fc.integer({ min: 0, max: 40_000 }),
  humidity: fc.integer({ min: 0, max: 1000 }),
  level: fc.constantFrom(0, 1, 1_500_000),
  feedback: fc.constantFrom(0, 1),
  arm: fc.constantFrom(0, 1),
  stage: fc.constantFrom(0, 1),
  button: fc.constantFrom(0, 1),
});
type Tick = typeof tickArbitrary extends fc.Arbitrary<infer T> ? T : never;
const TICK_CHANNELS = [
  'rpm',
  'boost',
  'charge',
  'ambient',
  'speed',
  'supply',
  'humidity',
  'level',
  'feedback',
  'arm',
  'stage',
  'button',
] as const satisfies readonly (keyof Tick)[];
const OPTIONAL = ['ambient', 'speed', 'supply', 'humidity', 'level', 'feedback'] as const;

test('a tick record reads back as a trace with the same whole numbers', () => {
  fc.assert(
    fc.property(
      fc.array(fc.tuple(tickArbitrary, fc.integer({ min: 0, max: 0x7ff_ffff })), {
        minLength: 1,
        maxLength: 20,
      }),
      fc.subarray([...OPTIONAL]),
      (ticks, missing) => {
        const isMissing = (channel: string) => (missing as string[]).includes(channel);
        const rows = ticks.map(([tick, health], i) => {
          const cells = TICK_CHANNELS.map((channel) => (isMissing(channel) ? '' : tick[channel]));
          const rest = `0x${health.toString(16)},1,0,1,resting,0x0,12,1500000,0,ready`;
          return [20 * i, ...cells, rest].join(',');
        });
        const trace = parseTrace(Buffer.from([TICK_HEADER, ...rows].join('\n')), 'ticks.csv');
        expect(Array.from(trace.timeMs)).toEqual(ticks.map((_, i) => 20 * i));
        for (const channel of TICK_CHANNELS) {
          const expected = isMissing(channel) ? [] : ticks.map(([tick]) => tick[channel]);
          expect(column(trace, channel), channel).toEqual(expected);
        }
        expect(Object.keys(trace.columns).length).toBe(TICK_CHANNELS.length - missing.length);
        expect(Array.from(trace.faults ?? [])).toEqual(ticks.map(([, health]) => health));
        expect(trace.reference.source).toBe('recorded-gauge');
        expect(content(trace).rows.refused).toBe(0);
      },
    ),
  );
});

test('a log of answers counts its rows, whatever the frames', () => {
  const byte = fc.integer({ min: 0, max: 255 });
  // A first byte that every PID takes; what is out of range has tests of its own.
  const first = fc.integer({ min: 60, max: 110 });
  const frame = fc
    .tuple(
      fc.constantFrom('7E8', '7E9', '18DAF110', '7DF', '123'),
      fc.constantFrom('04410C', '03410B', '03410F', '034133', '034146', '044142', '034105', '1008'),
      first,
      byte,
    )
    .map(([id, head, a, b]) => `${id}#${head}${Buffer.from([a, b]).toString('hex')}`);
  const line = fc.oneof({ weight: 400, arbitrary: frame }, { weight: 1, arbitrary: fc.string() });
  let traces = 0;
  fc.assert(
    fc.property(fc.array(line, { minLength: 60, maxLength: 200 }), (frames) => {
      const lines = frames.map((text, i) => `(${(i * 0.05).toFixed(6)}) can0 ${text}`);
      const start = '04410C1AF8 03410B64 03410F50'
        .split(' ')
        .map((text) => `(0.0) can0 7E8#${text}`);
      const trace = readOrFault(Buffer.from([...start, ...lines].join('\n')));
      if (trace instanceof Fault) return void expect(trace.exit).toBe(3);
      traces += 1;
      checkTrace(trace);
      expect(trace.fresh?.length).toBe(trace.timeMs.length);
    }),
  );
  expect(traces).toBeGreaterThan(5);
});
