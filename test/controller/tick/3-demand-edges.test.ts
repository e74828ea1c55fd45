/**
 * Edges of demand that mutation testing showed to be untested: what an unhealthy reading leaves behind, the
 * samples of the slope, how long is counted, and pre-cooling at exactly its thresholds.
 */
import { describe, expect, it } from 'vitest';
import { Input } from '../../../controller/readings.js';
import { initialSettings } from '../../../controller/settings-check.js';
import { firstOutOfRange } from '../../../controller/snapshot.js';
import { faultBits, scenario, USUAL } from '../scenario.js';
import type { Changes, Scenario } from '../scenario.js';

describe('a boost that cannot be trusted', () => {
  it('is no boost, whatever it reads', () => {
    const car = scenario({ demandHoldMs: 100 });
    car.run(1000);
    const row = car.run(200, { faults: faultBits('boost', 'jump') }).at(-1);
    expect(row?.demand).toBe(0);
  });
});

describe('the samples of the slope', () => {
  it('begin with the first tick and follow each other by 250 ms, not one tick more', () => {
    const car = scenario({ lookAheadMs: 1000 });
    car.tick();
    const { demand } = car.core.state;
    expect(demand.slopeFilled).toBe(1);
    for (let tick = 1; tick <= 10; tick++) {
      car.pause(30).tick();
      expect(demand.slopeFilled).toBe(tick < 5 ? 1 : tick < 10 ? 2 : 3);
    }
  });
});

describe('what is counted', () => {
  it.each([
    ['at a standstill', { speedDkmh: 0 }],
    ['on the move, the engine running', {}],
  ])('for minutes %s stays in its range', (_, changes: Changes) => {
    const car = scenario({ precool: 1 }, Input.All);
    car.run(120000, changes);
    expect(firstOutOfRange(car.core.state)).toBe('');
  });
});

/** A car that stands with its engine running and would pre-cool, but for what a test changes. */
function queueing(changes: Changes = {}): Scenario {
  const car = scenario({ precool: 1 });
  car.run(20000, { speedDkmh: 0, boostHpa: 0, rpm: 900, chargeDc: 100, ...changes });
  return car;
}

const settings = initialSettings();
const onDc = settings.precoolOnDc;
const bandDc = onDc - settings.tempHysteresisDc;
const wanted = (car: Scenario): number => car.core.state.demand.precoolWanted;

describe('pre-cooling', () => {
  it('is wanted from exactly its threshold on, and until under its band', () => {
    const car = queueing();
    car.tick({ chargeDc: onDc - 1 });
    expect(wanted(car)).toBe(0);
    car.tick({ chargeDc: onDc });
    expect(wanted(car)).toBe(1);
    car.tick({ chargeDc: bandDc });
    expect(wanted(car)).toBe(1);
    car.tick({ chargeDc: bandDc - 1 });
    expect(wanted(car)).toBe(0);
  });

  it('begins anew when the charge could not be trusted for a tick', () => {
    const car = queueing();
    car.tick({ chargeDc: onDc });
    car.tick({ chargeDc: bandDc, faults: faultBits('charge', 'jump') });
    expect(wanted(car)).toBe(0);
    car.tick({ faults: 0 });
    expect(wanted(car)).toBe(0);
  });

  it('remembers nothing from road mode', () => {
    const car = queueing({ stage: 0 });
    car.tick({ chargeDc: onDc });
    car.tick({ chargeDc: bandDc });
    car.run(100, { stage: 1 });
    expect(wanted(car)).toBe(0);
  });

  it('takes an engine at exactly runRpm as running', () => {
    const car = queueing({ rpm: settings.runRpm });
    car.tick({ chargeDc: onDc });
    expect(wanted(car)).toBe(1);
  });

  it.each([{ faults: faultBits('rpm', 'lost') }, { rpm: settings.runRpm - 1 }])(
    'waits again after an engine speed of %o',
    (changes) => {
      const car = queueing();
      car.tick(changes);
      car.run(14900, { faults: 0, rpm: 900, chargeDc: onDc });
      expect(wanted(car)).toBe(0);
      car.run(200);
      expect(wanted(car)).toBe(1);
    },
  );
});

describe('room for evaporation', () => {
  it('is judged anew when only the ambient changed, or only the humidity', () => {
    const car = scenario({ minDepressionDc: 50 }, USUAL | Input.Humidity);
    const tooHumid = (changes: Changes): number => {
      car.tick(changes);
      return car.core.state.demand.tooHumid;
    };
    // By the table: 2.3 K at 20 degC and 80 %, 7.6 at 20 degC and 40 %, 3.6 at 0 degC and 40 %.
    expect(tooHumid({ ambientDc: 200, humidityPm: 800 })).toBe(1);
    expect(tooHumid({ humidityPm: 400 })).toBe(0);
    expect(tooHumid({ ambientDc: 0 })).toBe(1);
    expect(tooHumid({ ambientDc: 200 })).toBe(0);
  });
});
