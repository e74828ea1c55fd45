/**
 * What holds at once when the core is stopped from outside (`fail`, `condemn`), and a few edges that
 * only an example shows: a late tick in mid let-go, the rest of service, feedback that is not judged.
 */
import { describe, expect, it } from 'vitest';
import { calibrationForReadings } from '../../controller/calibration.js';
import { boot, condemn, create, fail, refusalOf, tick } from '../../controller/core.js';
import type { Core } from '../../controller/core.js';
import { LIMITS } from '../../controller/limits.js';
import { Input, makeReadings } from '../../controller/readings.js';
import type { Readings } from '../../controller/readings.js';
import { initialSettings } from '../../controller/settings-check.js';

const FITTED = Input.Ambient | Input.Speed | Input.Supply | Input.Feedback;
const PUMP_CIRCUIT = 1 << 12;
const ENGINE_STOPPED = 1 << 1;

function goodReadings(): Readings {
  return Object.assign(makeReadings(), {
    fresh: Input.All,
    rpm: 4000,
    boostHpa: 900,
    chargeDc: 600,
    ambientDc: 200,
    speedDkmh: 800,
    supplyMv: 13800,
    arm: 1,
    stage: 1,
  });
}

/** A car in good conditions whose feedback follows the pump after `lagMs`. */
class Car {
  readonly readings = goodReadings();
  private readonly pumpWas: number[] = [];
  constructor(
    readonly core: Core,
    private readonly lagMs = 0,
  ) {}

  run(ms: number): void {
    for (let at = 0; at < ms; at += 20) {
      const lag = this.lagMs / 20;
      this.readings.feedback = this.pumpWas[this.pumpWas.length - 1 - lag] ?? 0;
      tick(this.core, this.readings);
      this.pumpWas.push(this.core.state.output.pump);
      this.readings.nowMs += 20;
    }
  }
}

function coreWith(feedbackExpected: readonly number[]): Core {
  const calibration = { ...calibrationForReadings(FITTED), feedbackExpected };
  return create(initialSettings(), calibration, LIMITS);
}

describe.each([
  ['fail', fail],
  ['condemn', condemn],
])('%s in mid-burst', (_name, stop) => {
  it('opens both outputs at once, before any further tick', () => {
    const car = new Car(coreWith([0, 0, 0, 1]));
    car.run(1000);
    expect(car.core.state.output).toMatchObject({ pump: 1, enable: 1 });
    stop(car.core);
    expect(car.core.state.output).toMatchObject({ pump: 0, enable: 0 });
  });

  it('gives the pump circuit its time to follow: no cutoff pump-circuit', () => {
    const car = new Car(coreWith([0, 0, 0, 1]), 200);
    car.run(1000);
    stop(car.core);
    car.run(2000);
    expect(car.core.state.cutoffs.active & PUMP_CIRCUIT).toBe(0);
  });
});

it.each([
  ['fail', fail],
  ['condemn', condemn],
])('%s while both outputs are off gives the pump circuit no more time', (_name, stop) => {
  const car = new Car(coreWith([0, 0, 0, 1]));
  car.readings.arm = 0;
  car.run(1000);
  const drawing = () => {
    for (let count = 0; count < 4; count++) {
      car.readings.feedback = 1;
      tick(car.core, car.readings);
      car.readings.nowMs += 20;
    }
  };
  drawing();
  stop(car.core);
  drawing();
  expect(car.core.state.cutoffs.active & PUMP_CIRCUIT).toBe(0);
  // The ninth of these ticks ends 160 ms of disagreement.
  drawing();
  expect(car.core.state.cutoffs.active & PUMP_CIRCUIT).toBe(PUMP_CIRCUIT);
});

it('a core without an ambient input is refused unless the settings accept that, in a whole sentence', () => {
  const calibration = calibrationForReadings(Input.Supply);
  const sentence =
    'frostSensor is fitted, but the calibration has no ambient input; ' +
    'fit one, or set frostSensor to absent-accepted: the charge is no frost sensor';
  expect(refusalOf(initialSettings(), calibration)).toBe(sentence);
  expect(() => create(initialSettings(), calibration, LIMITS)).toThrow(sentence);
  expect(refusalOf({ ...initialSettings(), frostSensor: 1 }, calibration)).toBe('');
});

it('cutoff engine-stopped: a late tick in mid let-go makes it begin anew', () => {
  const car = new Car(coreWith([2, 2, 2, 2]));
  car.readings.rpm = 0;
  car.run(2000);
  car.readings.rpm = 4000;
  car.run(900);
  car.readings.nowMs += 200;
  car.run(960);
  expect(car.core.state.cutoffs.active & ENGINE_STOPPED).toBe(ENGINE_STOPPED);
  car.run(100);
  expect(car.core.state.cutoffs.active & ENGINE_STOPPED).toBe(0);
});

it('cutoff pump-circuit: an expected feedback of 2 is either', () => {
  const car = new Car(coreWith([2, 2, 2, 2]));
  for (const feedback of [0, 1]) {
    for (let at = 0; at < 5000; at += 20) {
      car.readings.feedback = feedback;
      tick(car.core, car.readings);
      car.readings.nowMs += 20;
    }
    expect(car.core.state.cutoffs.active & PUMP_CIRCUIT).toBe(0);
  }
});

it('service: at most 10 s, then a rest of 10 s before a press sprays again', () => {
  const core = coreWith([2, 2, 2, 2]);
  boot(core, {
    powerOn: true,
    afterRunning: false,
    pumpStuckOn: false,
    tankUl: 3000000,
    ambientHpa: 0,
    bench: true,
  });
  const readings = goodReadings();
  readings.rpm = 0;
  readings.boostHpa = 0;
  let pump = 0;
  const edgesMs: number[] = [];
  for (let at = 0; at < 60000; at += 20) {
    readings.nowMs = at;
    // The button is held, and let go of for a moment every 200 ms while nothing sprays.
    readings.button = pump === 1 || at % 200 >= 60 ? 1 : 0;
    tick(core, readings);
    if (core.state.output.pump !== pump) edgesMs.push(at);
    pump = core.state.output.pump;
  }
  const [firstOn = 0, firstOff = 0, secondOn = 0, secondOff = 0] = edgesMs;
  expect(firstOff - firstOn).toBe(10000);
  expect(secondOn - firstOff).toBeGreaterThanOrEqual(10000);
  expect(secondOn - firstOff).toBeLessThan(10400);
  expect(secondOff - secondOn).toBe(10000);
});

it('a fault code that means nothing is reported as lost', () => {
  const car = new Car(coreWith([2, 2, 2, 2]));
  car.readings.faults = 7 << 3;
  car.run(20);
  expect((car.core.state.health.word >> 3) & 7).toBe(6);
});
