/**
 * Pump, enable, feedback, lamp and tach: the pump is off while pins float or stand still, the flyback
 * stays small, the feedback tells the four states apart, and the tach counts sparks and not ringing.
 */
import { describe, expect, it } from 'vitest';
import { HAS_SPICE, NEEDS_SPICE, simulate, type Wave } from './spice.js';

/** A small pump: 0.8 ohm and 1 mH, running against 9 V of its own; 15 A at the start of the worst. */
const PUMP_RUNNING = ['Rpump out mover 0.8', 'Lpump mover emf 1m', 'Vemf emf low 9'];
const PUMP_STALLED = ['Rpump out mover 0.8', 'Lpump mover low 1m'];

/** 500 Hz as the second layer drives it, from 5 ms on until `stop`, then low. */
function alternating(stop: string): string[] {
  return [
    'Vsquare square 0 PULSE(0 3.3 5m 1u 1u 0.999m 2m)',
    `Vstop stop 0 PWL(0 1 ${stop} 1 ${stop}05 0)`,
    'Bgpio gpio 0 V=V(stop) > 0.5 ? V(square) : 0',
  ];
}

function enable(lines: string[], change: Record<string, string> = {}, degC = 25): Wave {
  return simulate({
    circuits: ['enable'],
    around: ['Vfeed feed 0 13.8', ...lines, 'X1 gpio feed out enable-switch', 'Rload out 0 20'],
    analysis: 'tran 20u 60m',
    look: { out: 'v(out)' },
    change,
    degC,
  }).out;
}

/** Capacitors at the ends of their tolerance, and the transistor hot and cold. */
const CORNERS = [
  ['nominal', '27n', '33n', 25],
  ['least charge', '25.65n', '34.65n', -40],
  ['most charge, small store', '28.35n', '31.35n', 25],
  ['most of both', '28.35n', '34.65n', 25],
] as const;

describe.skipIf(!HAS_SPICE)(`enable, the high side${NEEDS_SPICE}`, () => {
  it.each([
    ['low', 'Vgpio gpio 0 0'],
    ['high', 'Vgpio gpio 0 PWL(0 0 1m 0 1.001m 3.3)'],
    ['floating, with 10 uA of leakage', 'Igpio 0 gpio 10u'],
  ])('a pin that stands %s opens it', (_what, gpio) => {
    const out = enable([gpio]);
    expect(out.between(0.01, 0.06).max).toBeLessThan(0.1);
  });

  it.each(CORNERS)(
    'is closed without a gap while the pin alternates, and open 2.5 ms after its last edge: %s',
    (_what, pump, hold, degC) => {
      const change = { 'enable.C_pump': pump, 'enable.C_hold': hold };
      const out = enable(alternating('41m'), change, degC);
      expect(out.between(0.012, 0.041).min).toBeGreaterThan(13.5);
      // The last edge falls at 40 ms.
      expect(out.between(0.0425, 0.06).max).toBeLessThan(6.9);
    },
  );

  it('hot, at 85 degC, it is open 3.5 ms after the last edge', () => {
    const out = enable(alternating('41m'), {}, 85);
    expect(out.between(0.012, 0.041).min).toBeGreaterThan(13.5);
    expect(out.between(0.0435, 0.06).max).toBeLessThan(6.9);
  });

  it('closes down to 7 V of supply', () => {
    const { out } = simulate({
      circuits: ['enable'],
      around: [
        'Vfeed feed 0 7',
        ...alternating('50m'),
        'X1 gpio feed out enable-switch',
        'Rload out 0 2',
      ],
      analysis: 'tran 20u 45m',
      look: { out: 'v(out)' },
    });
    expect(out.between(0.015, 0.045).min).toBeGreaterThan(6.7);
  });
});

const BOTH = ['X1 gpio feed out enable-switch', 'X2 pump low out pump-switch'];

describe.skipIf(!HAS_SPICE)(`the pump's low side${NEEDS_SPICE}`, () => {
  it.each([
    ['floats', 'Rnothing pump 0 1g'],
    ['floats with 10 uA of leakage', 'Ileak 0 pump 10u'],
    ['is low', 'Vpump pump 0 0'],
  ])('is off while its pin %s, though enable is closed', (_what, gpio) => {
    const { current } = simulate({
      circuits: ['enable', 'pump'],
      around: ['Vfeed feed 0 13.8', ...alternating('50m'), ...BOTH, gpio, ...PUMP_STALLED],
      analysis: 'tran 50u 40m',
      look: { current: 'i(Lpump)' },
    });
    expect(current.max).toBeLessThan(0.001);
  });

  it('flyback: when it opens, its drain stays within 2 V of the supply, and the current dies away', () => {
    const { low, current } = simulate({
      circuits: ['pump'],
      around: [
        'Vout out 0 16',
        'Vpump pump 0 PWL(0 3.3 20m 3.3 20.001m 0)',
        'X2 pump low out pump-switch',
        ...PUMP_STALLED,
      ],
      analysis: 'tran 5u 30m 0 5u',
      look: { low: 'v(low)', current: 'i(Lpump)' },
    });
    // 16 V over 0.8 ohm: a stalled pump is the worst that is switched off.
    expect(current.at(0.0199)).toBeGreaterThan(18);
    expect(low.max).toBeLessThan(18);
    expect(current.at(0.03)).toBeLessThan(0.1);
  });

  it('flyback: without its diode the transistor breaks down', () => {
    const { low } = simulate({
      circuits: ['pump'],
      around: [
        'Vout out 0 16',
        'Vpump pump 0 PWL(0 3.3 20m 3.3 20.001m 0)',
        'X2 pump low out pump-switch',
        ...PUMP_STALLED,
      ],
      analysis: 'tran 5u 21m 0 5u',
      look: { low: 'v(low)' },
      change: { 'pump.D_flyback': 'OPEN\n.model OPEN D(IS=1e-30 N=1 RS=1e12)' },
    });
    expect(low.max).toBeGreaterThan(60);
  });

  it('flyback: opening the high side first is as harmless', () => {
    const { out, low } = simulate({
      circuits: ['enable', 'pump'],
      around: [
        'Vfeed feed 0 16',
        ...alternating('31m'),
        ...BOTH,
        'Vpump pump 0 PWL(0 0 10m 0 10.001m 3.3)',
        ...PUMP_STALLED,
      ],
      analysis: 'tran 10u 50m',
      look: { out: 'v(out)', low: 'v(low)' },
    });
    expect(out.min).toBeGreaterThan(-2);
    expect(low.max).toBeLessThan(18);
  });

  it('carries a running pump with less than 0.2 V', () => {
    const { low, current } = simulate({
      circuits: ['pump'],
      around: [
        'Vout out 0 13.8',
        'Vpump pump 0 3.3',
        'X2 pump low out pump-switch',
        ...PUMP_RUNNING,
      ],
      analysis: 'tran 50u 20m',
      look: { low: 'v(low)', current: 'i(Lpump)' },
    });
    expect(current.last).toBeGreaterThan(5);
    expect(low.last).toBeLessThan(0.2);
  });
});

describe.skipIf(!HAS_SPICE)(`feedback${NEEDS_SPICE}`, () => {
  /** boards/pico/pins.json: codes from which it is high, and up to which it is low, in volts. */
  const HIGH = (22000 / 65535) * 3.3;
  const LOW = (11000 / 65535) * 3.3;

  it.each([
    ['both off: low', '0', '', 'low'],
    ['enable alone: high, through the pump', '13.8', '', 'high'],
    ['enable alone at 8 V: high', '8', '', 'high'],
    ['both on: low', '13.8', 'on', 'low'],
  ])('%s', (_what, feed, pump, expected) => {
    const { pin } = simulate({
      circuits: ['feedback', 'pump'],
      around: [
        'Vref ref 0 3.3',
        `Vout out 0 ${feed}`,
        `Vpump pump 0 ${pump === 'on' ? 3.3 : 0}`,
        'X2 pump low out pump-switch',
        ...PUMP_STALLED,
        'X3 low pin ref feedback',
      ],
      analysis: 'tran 50u 30m',
      look: { pin: 'v(pin)' },
      degC: 60,
    });
    if (expected === 'high') expect(pin.last).toBeGreaterThan(HIGH);
    else expect(pin.last).toBeLessThan(LOW);
  });

  it('an open high side that leaks 5 uA still reads low', () => {
    const { pin } = simulate({
      circuits: ['feedback'],
      around: ['Vref ref 0 3.3', 'Ileak 0 low 5u', 'X3 low pin ref feedback'],
      analysis: 'op',
      look: { pin: 'v(pin)' },
    });
    expect(pin.last).toBeLessThan(LOW);
  });
});

describe.skipIf(!HAS_SPICE)(`the lamp${NEEDS_SPICE}`, () => {
  it.each([
    ['is lit while its pin is high', 'Vgpio gpio 0 3.3', 0.05, 1],
    ['is dark while its pin is low', 'Vgpio gpio 0 0', 0, 1e-4],
    ['is dark while its pin floats with 10 uA of leakage', 'Igpio 0 gpio 10u', 0, 1e-4],
  ])('%s', (_what, gpio, least, most) => {
    const { current } = simulate({
      circuits: ['lamp'],
      around: ['Vfeed feed 0 13.8', gpio, 'X1 gpio wire lamp', 'Rlamp feed wire 240'],
      analysis: 'op',
      look: { current: '-i(Vfeed)' },
    });
    expect(current.last).toBeGreaterThanOrEqual(least);
    expect(current.last).toBeLessThan(most);
  });
});

/** A coil's switched side, twice: rest, 3 ms of charging, 400 V for 30 us, 30 V of spark with ringing. */
function coil(rest: number): string {
  const cycle = (from: number) => {
    const at = (milliseconds: number, volts: number) => `${from + milliseconds}m ${volts}`;
    const ringing = [1.2, 1.25, 1.3, 1.35, 1.4, 1.45].map((offset, index) =>
      at(3 + offset, rest + (index % 2 === 0 ? 7 : -7)),
    );
    return [
      at(0, rest),
      at(0.001, 1),
      at(3, 1),
      at(3.002, 400),
      at(3.03, 30),
      at(4.1, 30),
      ...ringing,
      at(4.6, rest),
    ].join(' ');
  };
  return `Vcoil wire 0 PWL(0 ${rest} ${cycle(2)} ${cycle(12)} 22m ${rest})`;
}

describe.skipIf(!HAS_SPICE)(`tach${NEEDS_SPICE}`, () => {
  // RP2040 datasheet at 3.3 V: low under 0.8 V, high over 2.0 V (from memory); the edge is timed between.
  const edges = (pin: Wave) => pin.crossings(2, 'rising');

  it.each([8, 13.8, 16])(
    'from a coil at %d V of rest: one edge a spark, ringing not counted',
    (rest) => {
      const { pin, half, base } = simulate({
        circuits: ['tach-coil'],
        around: ['Vref ref 0 3.3', coil(rest), 'X1 wire pin ref tach-coil'],
        analysis: 'tran 2u 22m 0 2u',
        look: { pin: 'v(pin)', half: 'v(x1.half)', base: 'v(x1.base)' },
      });
      const found = edges(pin);
      expect(found).toHaveLength(2);
      // Periods must be good to 0.2 %.
      expect(Math.abs((found[1] - found[0]) / 0.01 - 1)).toBeLessThan(0.002);
      expect(pin.min).toBeGreaterThan(-0.5);
      expect(pin.max).toBeLessThan(3.8);
      // Each of the two resistors sees half of the 400 V, well under its 350 V.
      expect(half.max).toBeLessThan(210);
      expect(base.max).toBeLessThan(1.2);
    },
  );

  it.each([
    ['5 V logic', 5],
    ['12 V logic', 13.8],
  ])('from %s: one edge a pulse', (_what, volts) => {
    const { pin } = simulate({
      circuits: ['tach-logic'],
      around: [
        'Vref ref 0 3.3',
        `Vlogic wire 0 PULSE(0 ${volts} 1m 1u 1u 2m 5m)`,
        'X1 wire pin ref tach-logic',
      ],
      analysis: 'tran 5u 21m',
      look: { pin: 'v(pin)' },
    });
    const found = edges(pin).filter((time) => time > 0.001);
    expect(found).toHaveLength(4);
    expect(Math.abs((found[3] - found[0]) / 0.015 - 1)).toBeLessThan(0.002);
  });

  it.each(['tach-coil', 'tach-logic'])('%s with an open wire is silent', (circuit) => {
    const { pin } = simulate({
      circuits: [circuit],
      around: ['Vref ref 0 3.3', `X1 wire pin ref ${circuit}`, 'Rnone wire 0 1g'],
      analysis: 'tran 50u 10m',
      look: { pin: 'v(pin)' },
    });
    expect(pin.max - pin.min).toBeLessThan(0.1);
  });

  it.each([
    ['tach-coil', 35],
    ['tach-logic', 35],
    ['tach-coil', -14],
    ['tach-logic', -14],
  ])('%s on %d V: its pin stays within its rating', (circuit, volts) => {
    const { pin } = simulate({
      circuits: [circuit],
      around: ['Vref ref 0 3.3', `Vwire wire 0 ${volts}`, `X1 wire pin ref ${circuit}`],
      analysis: 'op',
      look: { pin: 'v(pin)' },
    });
    expect(pin.last).toBeGreaterThan(-0.5);
    expect(pin.last).toBeLessThan(3.8);
  });
});
