/**
 * The board's front end as the host knows it: every part has a value, rating and reason, the loom names
 * every pin, the error budget follows its parts, and a threshold finer than its sensor is called out. Copper
 * and voltage drop are IEC 60028's and IEC 60228's (checked in plan/wiring.test.ts, used here).
 */
import { readFileSync } from 'node:fs';
import { beforeAll, describe, expect, it } from 'vitest';
import { initialSettings } from '../../controller/settings-check.js';
import { parseCalibration } from '../../host-sim/calibration/read.js';
import {
  errorBudget,
  finerThanSensor,
  type BudgetInputs,
} from '../../host-sim/front-end/budget.js';
import { parseCircuit, parseValue, readCircuits } from '../../host-sim/front-end/netlist.js';
import { pumpWire, readPins, readWiring, wiringFaults } from '../../host-sim/front-end/wiring.js';
import { packagePath } from '../../host-sim/package-folder.js';

describe('the netlists', () => {
  it('say value, rating and reason of every part, and what each circuit is for', () => {
    const circuits = readCircuits();
    expect(circuits.size).toBeGreaterThanOrEqual(15);
    for (const { name, what, parts } of circuits.values()) {
      expect(what, name).toMatch(/^[A-Z0-9].{20}/u);
      expect(parts.length, name).toBeGreaterThan(2);
      for (const part of parts) {
        expect(part.rating, `${name} ${part.name}`).not.toBe('');
        expect(part.why, `${name} ${part.name}`).not.toBe('');
        if (/^[RC]_/u.test(part.name))
          expect(part.value, `${name} ${part.name}`).toBeGreaterThan(0);
      }
    }
  });

  it.each([
    ['2.2k', 2200],
    ['470n', 4.7e-7],
    ['100', 100],
    ['5m', 0.005],
    ['1meg', 1e6],
    ['1.8u', 1.8e-6],
  ])('%s is %d', (text, value) => {
    expect(parseValue(text)).toBe(value);
  });

  it('a line without rating or reason is refused', () => {
    expect(() => parseCircuit('x', '* What it is for.\nR_one a b 1k\n')).toThrow(
      "x.cir: 'R_one a b 1k' says no rating and reason",
    );
  });
});

describe('the loom', () => {
  it('names no pin that is not there, and forgets none', () => {
    const [wiring, pins] = [readWiring(), readPins()];
    expect(wiringFaults(wiring, pins)).toEqual([]);
    const without = { ...wiring, wires: wiring.wires.filter(({ pin }) => pin !== 'tach') };
    expect(wiringFaults(without, pins)).toEqual(['tach is a pin and not wired']);
    const wrong = { ...wiring.wires[0], pin: 'horn' };
    expect(wiringFaults({ ...wiring, wires: [...wiring.wires, wrong] }, pins)).toEqual([
      'horn is wired and no pin',
    ]);
  });

  it('names only circuits that are there, and no contact twice', () => {
    const circuits = readCircuits();
    const { wires, inside } = readWiring();
    for (const { circuit } of [...wires, ...inside]) {
      if (circuit !== '') expect(circuits.has(circuit), circuit).toBe(true);
    }
    const contacts = wires.map(({ at }) => at);
    expect(new Set(contacts).size).toBe(contacts.length);
  });

  it('has a fuse that carries the pump and a wire that the fuse protects', () => {
    // 5 A, 3 m: 2.5 mm2 at 85 degC loses 2 x 3 m x 7.98 ohm/km x 1.255 x 5.2 A = 0.31 V (IEC 60228).
    const wire = pumpWire(5, 3);
    expect(wire).toMatchObject({ fuseA: 10, mm2: 2.5 });
    expect(wire.dropV).toBeCloseTo(0.3125, 3);
    expect(pumpWire(5, 40).mm2).toBeUndefined();
  });
});

describe('the error budget', () => {
  let inputs: BudgetInputs;
  beforeAll(() => {
    const file = packagePath('boards/pico/calibration.yaml');
    const { calibration, steps } = parseCalibration(readFileSync(file, 'utf8'), file);
    inputs = { calibration, steps, settings: initialSettings() };
  });

  const channel = (from: BudgetInputs, name: string) =>
    errorBudget(from).find((row) => row.channel === name) ?? expect.fail(name);

  it('is between its largest share and their sum, in every channel', () => {
    const rows = errorBudget(inputs);
    expect(rows.map((row) => row.channel)).toEqual([
      'charge',
      'ambient',
      'boost',
      'engine speed',
      'supply',
    ]);
    for (const { shares, likely, worst } of rows) {
      const amounts = shares.map(({ amount }) => amount);
      expect(Math.min(...amounts)).toBeGreaterThan(0);
      expect(likely).toBeGreaterThanOrEqual(Math.max(...amounts));
      expect(worst).toBeGreaterThanOrEqual(likely);
    }
  });

  it('of the resistor is that of the divider: 0.1 % of 2.2 kohm are 0.03 degC at 45 degC', () => {
    // d(share)/share = (1 - share) x 0.1 %, and at 45 degC a thermistor of B 3640 K falls by 3.6 % a degree:
    // 0.1 % of resistance are 0.028 degC.
    const { shares } = channel(inputs, 'charge');
    const resistor = shares.find(({ cause }) => cause === 'resistor')?.amount ?? NaN;
    expect(resistor).toBeCloseTo(0.001 / (3640 / 318.15 ** 2), 2);
  });

  it('of the converter is larger where the sensor is flatter: 90 degC against 45 degC', () => {
    const at = (tempOnDc: number) => {
      const row = channel(
        { ...inputs, settings: { ...inputs.settings, tempOnDc } },
        'charge',
      ).shares.find(({ cause }) => cause === 'converter');
      return row?.amount ?? NaN;
    };
    expect(at(900)).toBeGreaterThan(2 * at(450));
  });

  it('calls no threshold out with the initial settings, and one that is finer than its sensor', () => {
    expect(finerThanSensor(inputs)).toEqual([]);
    const fine = {
      ...inputs,
      settings: { ...inputs.settings, tempHysteresisDc: 5, boostHysteresisHpa: 20 },
    };
    expect(finerThanSensor(fine)).toEqual([
      'tempHysteresis of 0.5 degC is finer than the charge input, which is good to 0.57 degC at tempOn',
      'boostHysteresis of 20 hPa is finer than the boost input, which is good to 23 hPa at boostOn',
    ]);
  });
});
