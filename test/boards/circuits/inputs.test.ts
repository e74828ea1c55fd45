/**
 * The analogue and switch inputs under what a car does to a wire: shorted to a 12 V line, to one that is
 * jump-started, to a load dump, and reversed. No pin of the chip may leave its rating, and what a shorted
 * wire brings must be less than the 3.3 V rail takes. Also each filter's corner against its formula and
 * against the sampling.
 */
import { describe, expect, it } from 'vitest';
import { partOf, readCircuits } from '../../../host-sim/front-end/netlist.js';
import { HAS_SPICE, NEEDS_SPICE, simulate } from './spice.js';

/** RP2040 datasheet, absolute maximum of a pin: -0.5 V to 0.5 V over its supply of 3.3 V (from memory). */
const PIN_MIN = -0.5;
const PIN_MAX = 3.8;

/** What a running chip draws from 3.3 V at 125 MHz at the least (assumed; to be measured). */
const RAIL_TAKES_A = 0.02;

const INPUTS = [
  'thermistor',
  'thermistor-shared',
  'pressure',
  'rail',
  'supply-sense',
  'feedback',
  'switch-input',
] as const;

/** ISO 16750-2, 12 V systems: supply to 16 V; jump start 24 V; suppressed load dump 35 V; reverse -14 V. */
const ON_THE_WIRE = [
  ['the battery line, 16 V', 16],
  ['a jump start, 24 V', 24],
  ['a suppressed load dump, 35 V', 35],
  ['a reversed battery, -14 V', -14],
  ['ground', 0],
] as const;

describe.skipIf(!HAS_SPICE)(`an input's pin stays within its rating${NEEDS_SPICE}`, () => {
  const cases = INPUTS.flatMap((input) =>
    ON_THE_WIRE.flatMap(([what, volts]) =>
      [-40, 25, 85].map((degC) => ({ input, what, volts, degC })),
    ),
  );

  it.each(cases)('$input on $what at $degC degC', ({ input, volts, degC }) => {
    const { pin, rail } = simulate({
      circuits: [input],
      around: [
        'Vref ref 0 3.3',
        `Vwire wire 0 PWL(0 0 1m ${volts} 400m ${volts})`,
        `X1 wire pin ref ${input}`,
      ],
      analysis: 'tran 1m 400m',
      look: { pin: 'v(pin)', rail: 'i(Vref)' },
      degC,
    });
    expect(pin.max).toBeLessThanOrEqual(PIN_MAX);
    expect(pin.min).toBeGreaterThanOrEqual(PIN_MIN);
    // A current into the source is what the rail must take.
    expect(rail.max).toBeLessThan(RAIL_TAKES_A);
  });

  it('the clamp does it: without it the pin would follow the wire', () => {
    const { pin } = simulate({
      circuits: ['thermistor'],
      around: ['Vref ref 0 3.3', 'Vwire wire 0 16', 'X1 wire pin ref thermistor'],
      analysis: 'op',
      look: { pin: 'v(pin)' },
      change: { 'thermistor.D_high': 'OPEN\n.model OPEN D(IS=1e-30 N=1 RS=1e12)' },
    });
    expect(pin.last).toBeGreaterThan(PIN_MAX);
  });
});

describe.skipIf(!HAS_SPICE)(`an open wire reads as one${NEEDS_SPICE}`, () => {
  it.each([
    // Bands of boards/pico/calibration.yaml: beyond them is a fault.
    ['thermistor', 'over', (64800 / 65535) * 3.3],
    ['thermistor-shared', 'over', (64800 / 65535) * 3.3],
    ['pressure', 'under', (2979 / 65535) * 3.3],
    ['rail', 'under', (53620 / 65535) * 3.3],
    ['supply-sense', 'under', 0.5],
  ] as const)('%s %s its band, at 85 degC too', (input, side, volts) => {
    const { pin } = simulate({
      circuits: [input],
      around: ['Vref ref 0 3.3', `X1 wire pin ref ${input}`, 'Ropen wire 0 100meg'],
      analysis: 'op',
      look: { pin: 'v(pin)' },
      degC: 85,
    });
    if (side === 'over') expect(pin.last).toBeGreaterThan(volts);
    else expect(pin.last).toBeLessThan(volts);
  });
});

describe.skipIf(!HAS_SPICE)(`a switch input${NEEDS_SPICE}`, () => {
  it('is low through a dirty contact of 300 ohm, high when open; thresholds of the datasheet', () => {
    // RP2040 datasheet at 3.3 V: low under 0.8 V, high over 2.0 V (from memory).
    const level = (ohm: string) =>
      simulate({
        circuits: ['switch-input'],
        around: ['Vref ref 0 3.3', `Rcontact wire 0 ${ohm}`, 'X1 wire pin ref switch-input'],
        analysis: 'op',
        look: { pin: 'v(pin)' },
      }).pin.last;
    expect(level('300')).toBeLessThan(0.8);
    expect(level('10meg')).toBeGreaterThan(2);
  });
});

const circuits = readCircuits();

/** A filter's corner by its formula, Hz: 1 / (2 pi R C), R as the capacitor sees it. */
function cornerHz(input: string, sourceOhm: number): number {
  const ohm = partOf(circuits, input, 'R_series').value + sourceOhm;
  return 1 / (2 * Math.PI * ohm * partOf(circuits, input, 'C_filter').value);
}

function parallel(left: number, right: number): number {
  return (left * right) / (left + right);
}

/** Readings a second: each tick, or once in eight ticks through the analogue switch (docs/firmware.md). */
const CORNERS = [
  ['thermistor', 'Rsensor wire 0 806.9', parallel(2200, 806.9), 50],
  ['thermistor-shared', 'Rsensor wire 0 2502', parallel(2200, 2502), 6.25],
  ['pressure', 'Vsensor wire 0 2.5', parallel(10e3, 15e3), 50],
  ['rail', 'Vsensor wire 0 5', parallel(10e3, 15e3), 6.25],
  ['supply-sense', 'Vsensor wire 0 13.8', parallel(100e3, 10e3), 6.25],
] as const;

describe('a filter', () => {
  it.each(CORNERS)('%s: its corner is under half of its sampling rate', (input, _s, ohm, rate) => {
    expect(cornerHz(input, ohm)).toBeLessThan(rate / 2);
    // And no lower than it must be: it would lag for nothing.
    expect(cornerHz(input, ohm)).toBeGreaterThan(rate / 8);
  });

  it.skipIf(!HAS_SPICE).each(CORNERS)(
    `%s: the simulated corner is that of 1 / (2 pi R C)${NEEDS_SPICE}`,
    (input, source, ohm) => {
      // A step of current into the wire: after one time constant 63.2 % of the way is done.
      const tau = 1 / (2 * Math.PI * cornerHz(input, ohm));
      const { pin } = simulate({
        circuits: [input],
        around: [
          'Vref ref 0 3.3',
          source,
          `X1 wire pin ref ${input}`,
          `Istep 0 x1.${input === 'thermistor' || input === 'thermistor-shared' ? 'none' : 'mid'} PWL(0 0 1u 0 1.001u 10u)`,
          ...(input.startsWith('thermistor') ? ['Rnone x1.none wire 1m'] : []),
        ],
        analysis: `tran ${tau / 200} ${8 * tau}`,
        look: { pin: 'v(pin)' },
      });
      const [first, last] = [pin.values[0], pin.last];
      const crossing = pin.crossings(first + (last - first) * (1 - Math.exp(-1)), 'rising')[0];
      expect(Math.abs(crossing / tau - 1)).toBeLessThan(0.02);
    },
  );
});

describe.skipIf(!HAS_SPICE)(`the analogue switch${NEEDS_SPICE}`, () => {
  it('has settled within half a step of the converter when the next tick reads it', () => {
    // From a neighbour at the other end of the range, to an ambient sensor at 20 degC.
    const { pin } = simulate({
      circuits: ['thermistor-shared', 'analogue-switch'],
      around: [
        'Vref ref 0 3.3',
        'Rsensor wire 0 2502',
        'X1 wire one ref thermistor-shared',
        'Vother other 0 0',
        'X2 one other pin selectOne selectOther analogue-switch',
        'Vone selectOne 0 PWL(0 0 1 0 1.000001 3.3)',
        'Vother2 selectOther 0 PWL(0 3.3 1 3.3 1.000001 0)',
      ],
      analysis: 'tran 100u 1.02 0 100u',
      look: { pin: 'v(pin)' },
    });
    const settled = (3.3 * 2502) / (2502 + 2200);
    expect(pin.at(0.99)).toBeLessThan(0.01);
    expect(Math.abs(pin.last - settled)).toBeLessThan(3.3 / 4096 / 2);
    // What the emulated board waits for is longer: 0.1 ms against a few microseconds here.
    expect(Math.abs(pin.at(1.0001) - settled)).toBeLessThan(0.01);
  });
});
