/**
 * Which readings can be believed, as formulas over the readings alone, from the contract's table of
 * inputs: bands, lateness, a lost tach. Switches are debounced here as well. Takes what is fitted and
 * the settings; knows nothing of the core's own judgement of health.
 */
import { LevelKind, type Calibration } from '../../controller/calibration.js';
import { INPUTS, type InputName } from '../../controller/readings.js';
import type { Settings } from '../../controller/settings.js';
import type { Contract } from './contract.js';
import {
  and,
  atLeast,
  bit,
  equal,
  FALSE,
  FIRST,
  held,
  less,
  not,
  or,
  since,
  within,
  type Formula,
} from './formula.js';

/** What one car has: settings, fitted inputs, the contract's numbers. */
export interface Car {
  readonly settings: Settings;
  readonly calibration: Calibration;
  readonly contract: Contract;
}

/** Formulas about trust; each is made once, so that all properties share it. */
export interface Trust {
  readonly isFitted: (input: InputName) => boolean;
  /** The input is fitted and cannot be believed. */
  readonly bad: Readonly<Record<InputName, Formula>>;
  /** The input is fitted and has not been read for too long. */
  readonly late: Readonly<Record<InputName, Formula>>;
  /** The stage switch, and the button, as their debounce shows them. */
  readonly stage: Formula;
  readonly button: Formula;
}

/** Makes the formulas about trust for one car. */
export function trustOf(car: Car): Trust {
  const { calibration } = car;
  const isFitted = (input: InputName) => (calibration.fitted & (1 << INPUTS.indexOf(input))) !== 0;
  const late = {} as Record<InputName, Formula>;
  const bad = {} as Record<InputName, Formula>;
  for (const input of INPUTS) {
    late[input] = isFitted(input) ? lateOf(car, input) : FALSE;
    bad[input] = isFitted(input) ? badOf(car, input, late[input]) : FALSE;
  }
  const { switchMs } = car.contract;
  return {
    ...{ isFitted, bad, late },
    stage: debounced('stage', switchMs),
    button: debounced('button', switchMs),
  };
}

/** A switch after its debounce; what is closed at the first tick was closed before. */
function debounced(name: string, ms: number): Formula {
  const closed = equal(name, 1);
  return since(not(held(not(closed), ms)), or(held(closed, ms), and(FIRST, closed)));
}

/** Everything is late until it has been fresh once. */
function lateOf({ settings, calibration, contract }: Car, input: InputName): Formula {
  const index = INPUTS.indexOf(input);
  const isShared = (calibration.shared & (1 << index)) !== 0;
  return not(
    within(bit('fresh', 1 << index), isShared ? contract.sharedLateMs : settings.lateAfterMs),
  );
}

function badOf(car: Car, input: InputName, late: Formula): Formula {
  const told = bit('faults', 7 << (3 * INPUTS.indexOf(input)));
  const [min, max] = bandOf(car, input);
  const outside = min < max ? or(less(input, min, max - min), less(max, input, max - min)) : FALSE;
  if (input !== 'rpm') return or(told, outside, late);
  const { rpmLostHpa, rpmLostMs } = car.contract;
  const lost = held(and(equal('rpm', 0), less(rpmLostHpa, 'boost', 6000)), rpmLostMs);
  return or(told, outside, late, lost);
}

/** The believed band of each input; two equal numbers stand for none. */
function bandOf({ settings, calibration, contract }: Car, input: InputName): [number, number] {
  const isGauge = calibration.levelKind === LevelKind.Gauge;
  switch (input) {
    case 'rpm':
      return [0, Math.min(contract.rpmBandMax, settings.rpmMaxRpm)];
    case 'boost':
      return [contract.boostHpaMin, contract.boostHpaMax];
    case 'charge':
    case 'ambient':
      return [contract.temperatureDcMin, contract.temperatureDcMax];
    case 'humidity':
      return [0, contract.humidityPmMax];
    case 'speed':
      return [0, contract.speedDkmhMax];
    case 'level':
      return [0, isGauge ? contract.levelUlMax : 1];
    case 'supply':
      return [0, contract.supplyMvMax];
    case 'feedback':
      return [0, 0];
  }
}

/** A threshold with its band: met from its upper edge until under its lower one, or unknown. */
export function banded(
  name: string,
  on: number,
  off: number,
  range: number,
  bad: Formula,
): Formula {
  return since(not(or(bad, less(name, off, range))), and(not(bad), atLeast(name, on, range)));
}
