/**
 * Every kind of fault of every input: low, high, jump, frozen, late, lost, and what is no fault; the
 * debouncing of stage switch and button; readings beyond all sense. Times are ms, readings are in the
 * core's units.
 */
import { describe, expect, it } from 'vitest';
import { LevelKind } from '../../../controller/calibration.js';
import { Input, INPUTS } from '../../../controller/readings.js';
import type { InputName, Readings } from '../../../controller/readings.js';
import { firstOutOfRange } from '../../../controller/snapshot.js';
import { Board, manifoldCode, temperatureCode } from '../board.js';
import { beginMs, faultBits, healthOf, scenario, TICK_MS } from '../scenario.js';
import type { Changes } from '../scenario.js';

const GAUGE = { levelKind: LevelKind.Gauge };

interface Band {
  readonly input: InputName;
  readonly reading: keyof Changes;
  readonly min: number;
  readonly max: number;
}

/** The bands of the contract, in engineering units. */
const BANDS: readonly Band[] = [
  { input: 'rpm', reading: 'rpm', min: 0, max: 12000 },
  { input: 'boost', reading: 'boostHpa', min: -1000, max: 5000 },
  { input: 'charge', reading: 'chargeDc', min: -400, max: 2000 },
  { input: 'ambient', reading: 'ambientDc', min: -400, max: 2000 },
  { input: 'humidity', reading: 'humidityPm', min: 0, max: 1000 },
  { input: 'speed', reading: 'speedDkmh', min: 0, max: 5000 },
  { input: 'level', reading: 'level', min: 0, max: 60000000 },
  { input: 'supply', reading: 'supplyMv', min: 0, max: 40000 },
];

describe.each(BANDS)('$input', ({ input, reading, min, max }) => {
  /** What is found at this reading, with the input fitted. */
  function found(value: number): string {
    const car = scenario({}, Input.All, GAUGE);
    return healthOf(car.tick({ [reading]: value }).health, input);
  }

  it('is healthy at both ends of its band', () => {
    expect([found(min), found(max)]).toEqual(['ok', 'ok']);
  });

  it('is low just under it and high just over it', () => {
    expect([found(min - 1), found(max + 1)]).toEqual(['low', 'high']);
  });

  it('is low or high at the ends of int32', () => {
    expect([found(-0x80000000), found(0x7fffffff)]).toEqual(['low', 'high']);
  });

  it('keeps a fault its source knows, whatever it reads', () => {
    const car = scenario({}, Input.All, GAUGE);
    const faults = faultBits(input, 'jump');
    expect(healthOf(car.tick({ faults }).health, input)).toBe('jump');
    expect(healthOf(car.tick({ faults, [reading]: max + 1 }).health, input)).toBe('jump');
  });

  it('has no fault where it is not fitted', () => {
    const needed = ['rpm', 'boost', 'charge'].includes(input);
    const car = scenario({ frostSensor: 1 }, 0);
    const faults = faultBits(input, 'high');
    const row = car.tick({ [reading]: max + 1, faults });
    expect(healthOf(row.health, input)).toBe(needed ? 'high' : 'ok');
  });
});

describe('engine speed', () => {
  it.each([
    [3000, 3000, 'ok'],
    [3000, 3001, 'high'],
    [20000, 15000, 'ok'],
    [20000, 15001, 'high'],
  ])('rpmMax %i: %i rpm are %s (the band ends at 15,000)', (rpmMaxRpm, rpm, fault) => {
    const car = scenario({ rpmMaxRpm, rpmOnRpm: 2500 });
    expect(healthOf(car.tick({ rpm }).health, 'rpm')).toBe(fault);
  });

  it('is lost when boost was above 500 hPa for 2 s at 0 rpm', () => {
    const car = scenario();
    car.run(1000, { rpm: 0, boostHpa: 500 });
    car.run(3000);
    const lines = [
      '5s: 501hPa -> rpm=ok',
      '6.98s: -> rpm=ok',
      '7s: -> rpm=lost',
      '7.1s: 500hPa -> rpm=ok',
      '7.2s: 900hPa -> rpm=ok',
      '9.1s: 1rpm -> rpm=ok',
      '9.2s: 0rpm -> rpm=ok',
      '11.18s: -> rpm=ok',
      '11.2s: -> rpm=lost',
    ];
    expect(car.play(lines)).toEqual(lines);
  });

  it('is not called lost on the word of an unhealthy boost', () => {
    const car = scenario();
    const rows = car.run(5000, { rpm: 0, faults: faultBits('boost', 'jump') });
    expect(rows.every((row) => healthOf(row.health, 'rpm') === 'ok')).toBe(true);
  });

  it('that has another fault keeps it when it is lost too', () => {
    const car = scenario();
    const row = car.run(5000, { rpm: 0, faults: faultBits('rpm', 'low') }).at(-1);
    expect(healthOf(row?.health ?? 0, 'rpm')).toBe('low');
  });
});

describe('late', () => {
  it.each(INPUTS.map((input, bit) => [input, 1 << bit] as const))(
    '%s is late 200 ms after it was last fresh, and healthy when it is fresh again',
    (input, bit) => {
      const car = scenario({}, Input.All);
      car.run(1000);
      const lastMs = car.nextMs - TICK_MS;
      const rows = car.run(400, { fresh: Input.All & ~bit });
      const late = rows.filter((row) => healthOf(row.health, input) === 'late');
      expect(late[0]?.ms).toBe(lastMs + 200);
      expect(late).toHaveLength(11);
      expect(rows.every((row) => (row.health & ~faultBits(input, 'late')) === 0)).toBe(true);
      expect(car.tick({ fresh: Input.All }).health).toBe(0);
    },
  );

  it('goes by lateAfter, refreshed just in time it is not late', () => {
    const car = scenario({ lateAfterMs: 300 });
    car.tick();
    for (let count = 0; count < 10; count++) {
      const stale = car.run(280, { fresh: 0 });
      expect(stale.every((row) => row.health === 0)).toBe(true);
      car.tick({ fresh: Input.All });
    }
    expect(healthOf(car.run(300, { fresh: 0 }).at(-1)?.health ?? 0, 'charge')).toBe('late');
  });

  it('takes 500 ms where the input shares the multiplexer', () => {
    const board = new Board({ shared: Input.Charge | Input.Ambient });
    board.run(1000);
    board.run(480, { fresh: Input.All & ~(Input.Charge | Input.Ambient | Input.Speed) });
    expect(healthOf(board.core.state.health.word, 'speed')).toBe('late');
    expect(healthOf(board.core.state.health.word, 'charge')).toBe('ok');
    board.tick();
    expect(healthOf(board.core.state.health.word, 'charge')).toBe('late');
    expect(healthOf(board.core.state.health.word, 'ambient')).toBe('late');
  });

  it('takes 500 ms there with lateAfter as long', () => {
    const board = new Board({ shared: Input.Charge }, { lateAfterMs: 500 });
    board.run(1000);
    board.run(480, { fresh: 0 });
    expect(board.core.state.health.word).toBe(0);
    board.tick();
    expect(healthOf(board.core.state.health.word, 'boost')).toBe('late');
  });

  it('is what every input is that was never fresh', () => {
    const car = scenario();
    expect(healthOf(car.tick({ fresh: 0 }).health, 'rpm')).toBe('late');
    expect(car.tick()).toMatchObject({ pump: 0, enable: 0 });
    expect(car.tick().cutoffs).toContain('late-input');
  });

  it('does not hide another fault', () => {
    const car = scenario();
    car.run(100);
    const row = car.run(400, { fresh: 0, chargeDc: 3000 }).at(-1);
    expect(healthOf(row?.health ?? 0, 'charge')).toBe('high');
    expect(row?.cutoffs).toContain('late-input');
  });

  it('stays late however long it is not refreshed, over the wrap of time too', () => {
    const car = scenario();
    car.run(100);
    car.run(1000, { fresh: Input.All & ~Input.Charge });
    for (const ms of [0x20000000, 0x1ffffc00, 500, 0x3fffff00]) {
      expect(healthOf(car.pause(ms).tick().health, 'charge')).toBe('late');
    }
  });

  it('is every input that is not fresh when the clock went backwards', () => {
    const car = scenario();
    car.run(1000);
    const row = car.pause(-400).tick({ fresh: Input.Rpm });
    expect(healthOf(row.health, 'charge')).toBe('late');
    expect(healthOf(row.health, 'rpm')).toBe('ok');
  });
});

describe('jump, on codes', () => {
  const fault = (board: Board, input: InputName): string =>
    healthOf(board.core.state.health.word, input);

  it.each([
    ['boost', 'boostCode', manifoldCode(500), manifoldCode(2490), manifoldCode(2510)],
    ['charge', 'chargeCode', temperatureCode(500), temperatureCode(699), temperatureCode(702)],
    ['ambient', 'ambientCode', temperatureCode(300), temperatureCode(101), temperatureCode(98)],
  ] as const)(
    '%s: a step is a jump until it has stood for 100 ms',
    (input, code, from, less, more) => {
      const calm = new Board();
      calm.run(1000, { [code]: from });
      calm.tick({ [code]: less });
      expect(fault(calm, input)).toBe('ok');

      const board = new Board();
      board.run(1000, { [code]: from });
      for (let ms = 0; ms < 100; ms += 20) {
        board.tick({ [code]: more });
        expect([ms, fault(board, input)]).toEqual([ms, 'jump']);
      }
      board.tick();
      expect(fault(board, input)).toBe('ok');
    },
  );

  it('counts a step taken within 100 ms in several ticks', () => {
    const board = new Board();
    board.run(1000, { chargeCode: temperatureCode(500) });
    for (const dc of [560, 620, 680, 700]) {
      board.tick({ chargeCode: temperatureCode(dc) });
      expect(fault(board, 'charge')).toBe('ok');
    }
    board.tick({ chargeCode: temperatureCode(702) });
    expect(fault(board, 'charge')).toBe('jump');
  });

  it('lets the soak of a stopped engine pass: 3 degC in 100 ms, 116 degC in 4 s', () => {
    // A recorded trip of a road car: intake air from 25 to 141 degC in about 4 s at engine stop.
    const board = new Board();
    board.run(1000, { chargeCode: temperatureCode(250) });
    for (let dc = 250; dc <= 1410; dc += 6) {
      board.tick({ chargeCode: temperatureCode(dc) });
      expect(fault(board, 'charge')).toBe('ok');
    }
  });

  it('compares with nothing before the first tick', () => {
    const board = new Board();
    board.tick({ chargeCode: temperatureCode(1900), boostCode: manifoldCode(4500) });
    expect(board.core.state.health.word).toBe(0);
  });

  it('is not judged on readings in engineering units', () => {
    const car = scenario();
    car.run(1000);
    expect(car.tick({ chargeDc: 1900, boostHpa: 4900 }).health).toBe(0);
  });

  it('is not judged on an ambient that is not fitted', () => {
    const board = new Board({ fitted: 7 }, { frostSensor: 1 });
    board.run(100);
    board.core.readings.ambientDc = 2000;
    board.tick();
    expect(fault(board, 'ambient')).toBe('ok');
  });

  it('does not hide a code outside its band', () => {
    const board = new Board();
    board.run(1000);
    board.tick({ chargeCode: 60000 });
    expect(fault(board, 'charge')).toBe('high');
  });
});

describe('frozen, on codes', () => {
  const slow = { periodsUs: [10000, 10000, 10000, 10000] };
  const fast = { periodsUs: [7400, 7400, 7400, 7400] };

  function moving(board: Board, ms: number): void {
    for (let passedMs = 0; passedMs < ms; passedMs += 40) {
      board.tick(slow);
      board.tick(fast);
    }
  }

  it('is a boost code that stood for 60 s while rpm moved by over 1,000', () => {
    const board = new Board();
    board.tick({ ...slow, boostCode: manifoldCode(1900) });
    board.tick({ boostCode: manifoldCode(1913) });
    moving(board, 59960);
    board.tick();
    expect(healthOf(board.core.state.health.word, 'boost')).toBe('ok');
    board.tick();
    expect(healthOf(board.core.state.health.word, 'boost')).toBe('frozen');
    moving(board, 5000);
    expect(healthOf(board.core.state.health.word, 'boost')).toBe('frozen');
    board.tick({ boostCode: manifoldCode(1913) + 1 });
    expect(healthOf(board.core.state.health.word, 'boost')).toBe('ok');
  });

  it('is not one while rpm moved by 1,000 or less', () => {
    const board = new Board();
    for (let passedMs = 0; passedMs < 70000; passedMs += 40) {
      board.tick(slow);
      board.tick({ periodsUs: [7500, 7500, 7500, 7500] });
    }
    expect(healthOf(board.core.state.health.word, 'boost')).toBe('ok');
  });

  it('is not one that moves by a single code in time', () => {
    const board = new Board();
    moving(board, 50000);
    board.tick({ boostCode: manifoldCode(1913) + 1 });
    moving(board, 50000);
    expect(healthOf(board.core.state.health.word, 'boost')).toBe('ok');
  });

  it('is never the charge', () => {
    const board = new Board();
    for (let passedMs = 0; passedMs < 120000; passedMs += 40) {
      board.tick({ ...slow, boostCode: manifoldCode(1900) });
      board.tick({ ...fast, boostCode: manifoldCode(1913) });
    }
    expect(board.core.state.health.word).toBe(0);
  });

  it('stays frozen over the wrap of time', () => {
    const board = new Board();
    moving(board, 62000);
    for (const ms of [0x20000000, 0x1ffffff0]) {
      board.tick({}, ms);
      expect(healthOf(board.core.state.health.word, 'boost')).toBe('frozen');
    }
  });
});

describe('debounced switches', () => {
  it('the stage switch counts 40 ms after it moved, both ways, and not sooner', () => {
    const car = scenario();
    const lines = [
      '1s: road -> spray-automatic',
      '1.02s: -> spray-automatic',
      '1.04s: -> road-mode dry',
      '12s: stage -> road-mode',
      '12.02s: road -> road-mode',
      '12.04s: stage -> road-mode',
      '12.06s: -> road-mode',
      '12.08s: -> spray-automatic',
    ];
    expect(car.play(lines)).toEqual(lines);
  });

  it('the button counts 40 ms after it was pressed; a shorter touch is no press', () => {
    const car = scenario();
    const lines = [
      '1s: road',
      '8s: press -> road-mode',
      '8.04s: release -> road-mode',
      '9s: press -> road-mode',
      '9.02s: -> road-mode',
      '9.04s: -> spray-manual',
    ];
    expect(car.play(lines)).toEqual(lines);
    expect(car.events.filter((event) => event.id === 'press-dropped')).toEqual([]);
  });

  it('a bouncing release is no second press', () => {
    const car = scenario({
      manualMs: 500,
      minRestMs: 500,
      restMs: 1000,
      restHotMs: 1000,
      burstMs: 500,
    });
    car.run(100, { stage: 0 });
    car.run(1500, { button: 1 });
    for (let count = 0; count < 20; count++) {
      car.tick({ button: 0 });
      car.tick({ button: 1 });
    }
    const rows = car.run(3000, { button: 0 });
    expect(rows.every((row) => row.pump === 0)).toBe(true);
  });

  it.each([2, -1, 0x7fffffff])('a switch that reads %i is open', (value) => {
    const car = scenario();
    expect(car.run(200, { stage: value }).at(-1)?.reason).toBe('road-mode');
    expect(car.run(200, { button: value }).at(-1)?.reason).toBe('road-mode');
    expect(beginMs(car.run(200, { arm: value }), 'disarmed')).toBeGreaterThan(0);
  });
});

describe('readings beyond all sense', () => {
  const EXTREMES = [-0x80000000, 0x7fffffff, -0x40000001, 0x40000000, -1];

  it.each(EXTREMES)('%i everywhere never sprays and leaves every field in its range', (value) => {
    const car = scenario({ lookAheadMs: 5000, minDepressionDc: 20, precool: 1 }, Input.All, GAUGE);
    car.run(1000);
    const names = Object.keys(car.readings) as (keyof Readings)[];
    for (const name of names) if (name !== 'nowMs') car.readings[name] = value;
    const rows = car.run(3000);
    expect(rows.every((row) => row.pump === 0 && row.enable === 0)).toBe(true);
    expect(firstOutOfRange(car.core.state)).toBe('');
    expect(rows.at(-1)?.lamp).not.toBe('fast');
  });

  it.each(EXTREMES)('each reading at %i by itself never makes it spray more', (value) => {
    const names = (Object.keys(scenario().readings) as (keyof Readings)[]).filter(
      (name) => name !== 'nowMs' && name !== 'fresh' && name !== 'maintenance',
    );
    for (const name of names) {
      const car = scenario({}, Input.All, GAUGE);
      car.run(1000, { level: 3000000 });
      // The button and the switches at these values are open, and feedback disagrees.
      const rows = car.run(8000, { [name]: value });
      const pumped = rows.filter((row) => row.pump === 1).length;
      const plain = scenario({}, Input.All, GAUGE);
      plain.run(1000, { level: 3000000 });
      expect(pumped).toBeLessThanOrEqual(plain.run(8000).filter((row) => row.pump === 1).length);
      expect(firstOutOfRange(car.core.state)).toBe('');
    }
  });

  it.each(EXTREMES)(
    'codes of %i everywhere never spray and leave every field in its range',
    (value) => {
      const board = new Board();
      board.run(1000);
      const codes = board.codes;
      for (const name of Object.keys(codes) as (keyof typeof codes)[]) {
        if (name === 'nowMs') continue;
        if (name === 'periodsUs') codes.periodsUs.fill(value);
        else codes[name] = value;
      }
      board.run(3000);
      expect(board.core.state.output).toMatchObject({ pump: 0, enable: 0 });
      expect(firstOutOfRange(board.core.state)).toBe('');
    },
  );

  it.each(EXTREMES)('a clock that jumps to %i and back is survived, dry in that tick', (nowMs) => {
    const car = scenario();
    car.run(1000);
    const rows = [car.pause(nowMs - 1000).tick(), car.pause(-nowMs).tick()];
    expect(rows.map((row) => row.pump)).toEqual([0, 0]);
    expect(firstOutOfRange(car.core.state)).toBe('');
  });
});
