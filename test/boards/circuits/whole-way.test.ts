/**
 * The whole way without hardware: a bench where sensors and front end are a little off, as real ones are;
 * its readings through `smirr calibrate` and `smirr pack`; that very file in the emulated board's flash; the
 * voltages that ngspice makes of true temperatures, pressures and supply on its pins; a hot piece of the demo. What
 * the board reads must be within the computed error budget of the truth, and it must spray. The same
 * readings through the typical calibration are not: the budget is no formality.
 */
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { Board } from '../../../boards/emulator/board.js';
import { loadBoardFiles } from '../../../boards/emulator/files.js';
import { makeEvents } from '../../../controller/events.js';
import { LIMITS } from '../../../controller/limits.js';
import { makeReadings, type Readings } from '../../../controller/readings.js';
import { initialSettings } from '../../../controller/settings-check.js';
import {
  calibrate,
  compileCalibrate,
  makeCalibrate,
  makeCodesRecord,
  type Codes,
} from '../../../controller/tick/1-calibrate.js';
import { boilingDegC, standardHpa } from '../../../host-sim/calibrate/boiling.js';
import { resistanceOf } from '../../../host-sim/calibrate/steinhart-hart.js';
import { parseCalibration, type ReadCalibration } from '../../../host-sim/calibration/read.js';
import {
  pressureShares,
  rpmShares,
  supplyShares,
  thermistorShares,
  type ErrorShare,
} from '../../../host-sim/front-end/budget.js';
import { readCircuits, type Circuit } from '../../../host-sim/front-end/netlist.js';
import { flashOf } from '../../../host-sim/pack/verify.js';
import { STEPS } from '../../../host-sim/pack/sector.js';
import { demoTrace } from '../../../host-sim/trace/demo.js';
import { smirr } from '../../host-sim/smirr.js';
import { ACCOUNT_OFFSET, accountSector, CALIBRATION, HAS_CORE, NEEDS_IMAGE, ROOT } from '../kit.js';
import { HAS_SPICE, NEEDS_SPICE, simulate } from './spice.js';

/** What is true in the car. */
interface Truth {
  readonly chargeDegC: number;
  readonly ambientDegC: number;
  readonly absoluteHpa: number;
  readonly supplyV: number;
  readonly rpm: number;
}

/** The sensors as they really are: not those of the data sheet. */
const THERMISTOR = { a: 1.335761e-3, b: 2.560233e-4, c: 1.50615e-7 };
const OHM_OFF = 1.08;
const RAIL_V = 5.04;
const shareOf = (hpa: number) => 0.106 + (0.794 * hpa) / 4000;

/** The front end as it really is: resistors at the ends of their tolerance, in a box of 60 degC. */
const BOX_DEGC = 60;
const OFF = {
  'thermistor.R_pullUp': '2.2022k',
  'pressure.R_upper': '9.99k',
  'pressure.R_lower': '15.015k',
  'rail.R_upper': '10.01k',
  'supply-sense.R_upper': '100.1k',
  'supply-sense.R_lower': '9.99k',
};

function ohmAt(degC: number): number {
  return OHM_OFF * resistanceOf(THERMISTOR, degC);
}

/** Volts at the converter's pins, by ngspice. */
function frontEnd(truth: Truth): Readonly<Record<string, number>> {
  const boostV = RAIL_V * shareOf(truth.absoluteHpa);
  const waves = simulate({
    circuits: ['thermistor', 'thermistor-shared', 'pressure', 'rail', 'supply-sense'],
    around: [
      'Vref ref 0 3.3',
      `Rcharge chargeWire 0 ${ohmAt(truth.chargeDegC)}`,
      'X1 chargeWire charge ref thermistor',
      `Rambient ambientWire 0 ${ohmAt(truth.ambientDegC)}`,
      'X2 ambientWire ambient ref thermistor-shared',
      `Vboost boostWire 0 ${boostV}`,
      'X3 boostWire boost ref pressure',
      `Vrail railWire 0 ${RAIL_V}`,
      'X4 railWire rail ref rail',
      `Vsupply feed 0 ${truth.supplyV}`,
      'X5 feed supply ref supply-sense',
    ],
    analysis: 'op',
    look: {
      charge: 'v(charge)',
      ambient: 'v(ambient)',
      boost: 'v(boost)',
      rail: 'v(rail)',
      supply: 'v(supply)',
    },
    change: OFF,
    degC: BOX_DEGC,
  });
  return Object.fromEntries(Object.entries(waves).map(([name, wave]) => [name, wave.last]));
}

const IDLE: Truth = {
  chargeDegC: 30,
  ambientDegC: 24,
  absoluteHpa: 980,
  supplyV: 13.8,
  rpm: 900,
};

const ALTITUDE_M = 430;

/** A readings file as a builder would write it, with a thermometer 0.2 degC and a gauge 10 hPa off. */
function benchFile(): string {
  const bath = (degC: number) => frontEnd({ ...IDLE, chargeDegC: degC }).charge.toFixed(4);
  const plug = (hpa: number) => `${hpa + 10} hPa: ${(RAIL_V * shareOf(hpa)).toFixed(3)} V`;
  const supply = (volts: number) => {
    return `${volts} V: ${frontEnd({ ...IDLE, supplyV: volts }).supply.toFixed(4)} V`;
  };
  return `kind: smirr-readings
version: 1
board: pico
date: 2026-05-02
altitude: ${ALTITUDE_M} m
charge:
  volts:
    ice: ${bath(0)} V
    25.2 degC: ${bath(25)} V
    60.2 degC: ${bath(60)} V
    boiling: ${bath(boilingDegC(standardHpa(ALTITUDE_M)) - 0.2)} V
ambient: as-charge
boost:
  rail: ${RAIL_V} V
  volts: { ${[980, 1800, 2600].map(plug).join(', ')} }
tach: { cylinders: 4, pickUp: every-firing }
supply: { volts: { ${[11.5, 14.2].map(supply).join(', ')} } }
`;
}

/** Seconds of the demo that are driven, a second each. */
const FROM_S = 40;
const MOMENTS = 16;

function demoMoments(): Truth[] {
  const { timeMs, columns } = demoTrace('demo:hot');
  const value = (name: 'charge' | 'boost' | 'rpm', at: number) => columns[name]?.[at] ?? NaN;
  return Array.from({ length: MOMENTS }, (_, second) => {
    const at = timeMs.findIndex((time) => time >= 1000 * (FROM_S + second));
    return {
      ...IDLE,
      chargeDegC: value('charge', at) / 10,
      absoluteHpa: 980 + value('boost', at),
      rpm: value('rpm', at),
    };
  });
}

function put(board: Board, truth: Truth): void {
  Object.assign(board.analogue.volts, frontEnd(truth), { level: 0 });
  board.tach.setPeriod(truth.rpm > 0 ? 60e6 / (2 * truth.rpm) : 0);
}

const SECOND_TICKS = 50;

/** Codes to readings on the host, with a calibration of choice; manifold pressure stays absolute. */
function readingsOf({ calibration }: Pick<ReadCalibration, 'calibration'>, codes: Codes): Readings {
  const readings = makeReadings();
  const state = makeCalibrate(LIMITS);
  const rules = compileCalibrate(initialSettings(), calibration, LIMITS);
  calibrate(state, rules, codes, readings, makeEvents());
  readings.boostHpa += state.ambientHpa;
  return readings;
}

const worst = (shares: readonly ErrorShare[]) => shares.reduce((sum, each) => sum + each.amount, 0);

/** How far a reading is from the truth, and how far it may be: one row a channel. */
function errorsOf(sensors: ReadCalibration, readings: Readings, truth: Truth) {
  const circuits = readCircuits();
  const { calibration, steps } = sensors;
  const inputs = { calibration, steps, settings: initialSettings() };
  const thermistor = (name: 'charge' | 'ambient', circuit: string, degC: number) => {
    const held = steps[STEPS.indexOf(name)] + 1;
    return worst(thermistorShares(calibration[name], degC, held, circuits.get(circuit) as Circuit));
  };
  return {
    charge: {
      off: readings.chargeDc / 10 - truth.chargeDegC,
      may: thermistor('charge', 'thermistor', truth.chargeDegC),
    },
    ambient: {
      off: readings.ambientDc / 10 - truth.ambientDegC,
      may: thermistor('ambient', 'thermistor-shared', truth.ambientDegC),
    },
    boost: {
      off: readings.boostHpa - truth.absoluteHpa,
      may: worst(pressureShares(inputs, truth.absoluteHpa, circuits)),
    },
    rpm: { off: readings.rpm - truth.rpm, may: worst(rpmShares(truth.rpm)) },
    supply: {
      off: readings.supplyMv / 1000 - truth.supplyV,
      may: worst(supplyShares(inputs, truth.supplyV, circuits)),
    },
  };
}

describe.skipIf(!HAS_SPICE || !HAS_CORE)(
  `from a bag of parts to a reading${NEEDS_SPICE}${NEEDS_IMAGE}`,
  () => {
    let folder: string;
    let sensors: ReadCalibration;
    const seen: { truth: Truth; codes: Codes; sprays: boolean; health: number }[] = [];

    beforeAll(async () => {
      folder = await mkdtemp(path.join(tmpdir(), 'smirr-whole-way-'));
      const name = (file: string) => path.join(folder, file);
      await writeFile(name('bench.yaml'), benchFile());
      const made = await smirr('calibrate', name('bench.yaml'), '-o', name('sensors.yaml'));
      expect(made).toMatchObject({ exit: 0 });
      const packed = await smirr('pack', '-c', name('sensors.yaml'), '-o', name('car.uf2'));
      expect(packed).toMatchObject({ exit: 0 });
      sensors = parseCalibration(await readFile(name('sensors.yaml'), 'utf8'), 'sensors.yaml');

      const flash = flashOf(await readFile(name('car.uf2')), 'car.uf2');
      // A device that was in use before knows its water and the air's pressure.
      flash.set(accountSector(3_000_000, 980), ACCOUNT_OFFSET);
      const { symbols, pins } = loadBoardFiles(ROOT);
      const board = new Board({ flash, symbols, pins });
      board.analogue.noise = 1;
      put(board, { ...IDLE, rpm: 0 });
      for (const each of ['arm', 'stage']) board.pins.setSwitch(each, true);
      board.powerOn();
      board.runTicks(80);
      // The tank's level must be good for 10 s before it lets go of what a boot blocks.
      put(board, IDLE);
      board.runTicks(530);
      for (const truth of demoMoments()) {
        put(board, truth);
        let sprays = false;
        for (let tick = 0; tick < SECOND_TICKS; tick++) {
          board.runTicks(1);
          sprays ||= board.circuit.isPumping;
        }
        const word = board.peek('last_output');
        seen.push({ truth, codes: board.codes(makeCodesRecord()), sprays, health: word >> 11 });
      }
    }, 300_000);
    afterAll(() => rm(folder, { recursive: true }));

    it('the readings are within the error budget, in every channel and at every moment', () => {
      expect(seen).toHaveLength(MOMENTS);
      for (const { truth, codes } of seen) {
        const errors = errorsOf(sensors, readingsOf(sensors, codes), truth);
        for (const [channel, { off, may }] of Object.entries(errors)) {
          const place = `${channel}: off by ${off}, may be ${may}, at ${JSON.stringify(truth)}`;
          expect(Math.abs(off), place).toBeLessThanOrEqual(may);
        }
      }
    });

    it('the same codes by the typical calibration are not: a sensor 8 % off must be calibrated', () => {
      const off = seen.map(({ truth, codes }) => {
        const { charge } = errorsOf(sensors, readingsOf(CALIBRATION, codes), truth);
        return Math.abs(charge.off) - charge.may;
      });
      expect(Math.max(...off)).toBeGreaterThan(0);
    });

    it('the piece of the demo moves what is read, and it sprays', () => {
      const charges = seen.map(({ truth }) => truth.chargeDegC);
      expect(Math.max(...charges) - Math.min(...charges)).toBeGreaterThan(3);
      expect(Math.max(...charges)).toBeGreaterThan(45);
      expect(seen.some(({ sprays }) => sprays)).toBe(true);
    });

    it('no cutoff that a broken input would bring is in force at the end', () => {
      const sensorLost = 1 << 2;
      const lateInput = 1 << 3;
      expect((seen.at(-1)?.health ?? -1) & (sensorLost | lateInput)).toBe(0);
    });
  },
);
