/**
 * Raw codes to readings, against values from outside the project: thermistor equations, pulses of
 * common ignition layouts, a ratiometric sensor on a rail that is not quite 5 V. The source stands
 * beside each check. Readings are in the core's units.
 */
import { describe, expect, it } from 'vitest';
import { CODE_MAX, LevelKind, TABLE_POINTS_MAX } from '../../../controller/calibration.js';
import type { CodeTable, Ratiometric } from '../../../controller/calibration.js';
import { boot } from '../../../controller/core.js';
import { AmbientSource } from '../../../controller/tick/1-calibrate.js';
import { Input } from '../../../controller/readings.js';
import { Board, codeOf, manifoldCode, straight, temperatureCode } from '../board.js';
import { faultBits, healthOf, POWER_ON } from '../scenario.js';

/** Absolute pressure as the core sees it, hPa. */
function absolute(board: Board): number {
  return board.core.readings.boostHpa + board.core.state.calibrate.ambientHpa;
}

describe('thermistor table', () => {
  interface Thermistor {
    readonly name: string;
    readonly a: number;
    readonly b: number;
    readonly c: number;
    readonly pullUpOhm: number;
    readonly published: readonly (readonly [celsius: number, ohm: number])[];
  }

  // 1/T = A + B ln R + C (ln R)^3: Steinhart and Hart, Deep-Sea Research 15 (1968), 497-503.
  const THERMISTORS: readonly Thermistor[] = [
    {
      // Nominal resistances of an automotive air temperature sensor, 2.5 kOhm at 20 degC, as printed
      // in a public workshop manual; A, B, C are fitted to them at 0, 50 and 100 degC.
      name: 'automotive, 2.5 kOhm at 20 degC',
      a: 1.33576111e-3,
      b: 2.560233464e-4,
      c: 1.506150191e-7,
      pullUpOhm: 2490,
      published: [
        [-40, 48805],
        [-20, 15971],
        [0, 5975],
        [20, 2502],
        [40, 1152],
        [60, 575.8],
        [80, 308.6],
        [100, 175.7],
        [120, 105.4],
        [140, 66.2],
      ],
    },
    {
      // 10 kOhm at 25 degC, curve "10K3": A, B, C from memory of the curve's published coefficients;
      // the resistances are from table C-1 of a probe manual of Campbell Scientific (109SS), and
      // those at 60 and 70 degC are from memory of the curve's table.
      name: '10 kOhm at 25 degC',
      a: 1.129241e-3,
      b: 2.341077e-4,
      c: 8.775468e-8,
      pullUpOhm: 4990,
      published: [
        [-40, 336103.2],
        [-30, 176804.8],
        [-20, 97006.9],
        [-10, 55303.9],
        [0, 32650.9],
        [25, 10000],
        [60, 2487.1],
        [70, 1751.6],
      ],
    },
  ];

  function celsiusAt({ a, b, c }: Thermistor, ohm: number): number {
    const l = Math.log(ohm);
    return 1 / (a + b * l + c * l ** 3) - 273.15;
  }

  function ohmAt(thermistor: Thermistor, celsius: number): number {
    let low = 1;
    let high = 1e7;
    for (let step = 0; step < 80; step++) {
      const middle = Math.sqrt(low * high);
      if (celsiusAt(thermistor, middle) > celsius) low = middle;
      else high = middle;
    }
    return low;
  }

  /** The voltage divider: the thermistor to ground, a pull-up to a rail at full scale. */
  function codeAt(thermistor: Thermistor, ohm: number): number {
    return Math.round((CODE_MAX * ohm) / (ohm + thermistor.pullUpOhm));
  }

  /** As many points as a table may have, from 145 down to -45 degC. */
  function tableOf(thermistor: Thermistor): CodeTable {
    const points = Array.from({ length: TABLE_POINTS_MAX }, (_, at) => {
      const celsius = 145 - (190 * at) / (TABLE_POINTS_MAX - 1);
      return { code: codeAt(thermistor, ohmAt(thermistor, celsius)), celsius };
    });
    return {
      codes: points.map(({ code }) => code),
      values: points.map(({ celsius }) => Math.max(-400, Math.round(celsius * 10))),
      codeMin: 500,
      codeMax: 65300,
    };
  }

  describe.each(THERMISTORS)('$name', (thermistor) => {
    it('the equation gives the published resistances', () => {
      for (const [celsius, ohm] of thermistor.published) {
        expect(Math.abs(celsiusAt(thermistor, ohm) - celsius)).toBeLessThan(0.03);
      }
    });

    it('the core reads the published resistances within 0.4 degC up to 100 degC', () => {
      const board = new Board({ charge: tableOf(thermistor) });
      for (const [celsius, ohm] of thermistor.published) {
        if (celsius < -30 || celsius > 100) continue;
        board.tick({ chargeCode: codeAt(thermistor, ohm) });
        expect(Math.abs(board.core.readings.chargeDc / 10 - celsius)).toBeLessThan(0.4);
      }
    });

    it('the core reads -40 to 140 degC within 0.5 degC', () => {
      const board = new Board({ charge: tableOf(thermistor) });
      let worst = 0;
      for (let celsius = -39; celsius <= 140; celsius += 0.25) {
        board.tick({ chargeCode: codeAt(thermistor, ohmAt(thermistor, celsius)) });
        worst = Math.max(worst, Math.abs(board.core.readings.chargeDc / 10 - celsius));
      }
      expect(worst).toBeLessThan(0.5);
      expect(worst).toBeGreaterThan(0);
    });
  });
});

describe('tables', () => {
  it('are straight between two points, however far apart', () => {
    const board = new Board({ humidity: straight([0, 0], [CODE_MAX, 1000]) });
    for (let code = 0; code <= CODE_MAX; code += 255) {
      board.tick({ humidityCode: code });
      expect(Math.abs(board.core.readings.humidityPm - (code * 1000) / CODE_MAX)).toBeLessThan(1.1);
    }
  });

  it('are as exact for a gauge in microlitres', () => {
    const level = straight([1000, 0], [64000, 50000000]);
    const board = new Board({ level, levelKind: LevelKind.Gauge });
    for (let code = 1000; code <= 64000; code += 700) {
      board.tick({ levelCode: code });
      const trueUl = ((code - 1000) * 50000000) / 63000;
      expect(Math.abs(board.core.readings.level - trueUl)).toBeLessThan(50000);
    }
  });

  it('go on flat beyond their outer points, up to the band', () => {
    for (const [chargeCode, chargeDc] of [
      [9001, -400],
      [58999, 2000],
    ] as const) {
      const board = new Board();
      board.tick({ chargeCode });
      expect(board.core.readings.chargeDc).toBe(chargeDc);
      expect(healthOf(board.core.readings.faults, 'charge')).toBe('ok');
    }
  });

  it('read each of their own points exactly', () => {
    const charge = {
      codes: [100, 900, 5000, 64000],
      values: [1500, 700, 200, -400],
      codeMin: 0,
      codeMax: CODE_MAX,
    };
    const board = new Board({ charge });
    charge.codes.forEach((code, at) => {
      board.tick({ chargeCode: code });
      expect(board.core.readings.chargeDc).toBe(charge.values[at]);
    });
  });
});

describe('ratiometric pressure', () => {
  /** 10 bar at 0.5..4.5 V of 5 V (common practice); told by two points inside the bound of 7 bar. */
  const TEN_BAR: Ratiometric = {
    lowPm: 100,
    lowHpa: 0,
    highPm: 660,
    highHpa: 7000,
    codeMin: codeOf(0.25),
    codeMax: codeOf(4.75),
    railCodeMin: codeOf(4.5),
    railCodeMax: codeOf(5.5),
  };

  // p = (V / V_ref - 0.1) / 0.8 * span: the usual transfer function of 0.5..4.5 V sensors (common
  // practice). A rail of 4.75 or 5.25 V moves sensor and rail alike, so the answer must not move.
  it.each([4.75, 5, 5.25])('half of a rail of %f V is 5.00 bar on a 10 bar sensor', (railV) => {
    const board = new Board({ manifold: TEN_BAR });
    board.tick({ boostCode: codeOf(railV / 2), railCode: codeOf(railV) });
    expect(absolute(board)).toBeGreaterThanOrEqual(4998);
    expect(absolute(board)).toBeLessThanOrEqual(5002);
  });

  it.each([4.75, 5, 5.25])('reads 0 to 5 bar within 3 hPa at a rail of %f V', (railV) => {
    const board = new Board();
    for (let hPa = 0; hPa <= 4900; hPa += 50) {
      board.tick({ boostCode: manifoldCode(hPa, railV), railCode: codeOf(railV) });
      if (healthOf(board.core.readings.faults, 'boost') !== 'ok') continue;
      expect(Math.abs(absolute(board) - hPa)).toBeLessThanOrEqual(3);
    }
  });

  // Under 0.25 V and over 4.75 V the wire is open or shorted (common practice).
  it.each([
    [0.24, 'low'],
    [0.25, 'ok'],
    [4.75, 'ok'],
    [4.76, 'high'],
  ])('%f V is %s', (volts, fault) => {
    const board = new Board();
    board.run(200, { boostCode: codeOf(volts) });
    const found = healthOf(board.core.readings.faults, 'boost');
    expect(found).toBe(fault);
  });

  it.each([codeOf(4.49), codeOf(5.51), 0, -1, 70000])(
    'a rail code of %i makes boost unhealthy',
    (railCode) => {
      const board = new Board();
      board.run(200);
      board.run(200, { railCode });
      expect(healthOf(board.core.state.health.word, 'boost')).not.toBe('ok');
      expect(board.core.state.cutoffs.active & 4).toBe(0);
      board.run(40);
      expect(board.core.state.cutoffs.active & 4).toBe(4);
    },
  );
});

describe('ratiometric pressure beyond all sense', () => {
  it('is high when the sensor stands far above its rail', () => {
    const manifold = {
      ...new Board().core.calibration.manifold,
      codeMax: CODE_MAX,
      railCodeMin: 1,
    };
    for (const railCode of [1, 1000, 20000]) {
      const board = new Board({ manifold });
      board.tick({ boostCode: 65000, railCode });
      expect(healthOf(board.core.state.health.word, 'boost')).toBe('high');
    }
  });
});

describe('pulses to engine speed', () => {
  /** Ticks once with a steady pulse train of `hertz`. */
  function rpmAt(pulsesPerTwoRevolutions: number, hertz: number): number {
    const board = new Board({ pulsesPerTwoRevolutions });
    const periodUs = Math.round(1e6 / hertz);
    board.tick({ periodsUs: [periodUs, periodUs, periodUs, periodUs] });
    return board.core.readings.rpm;
  }

  // A four-stroke engine fires each cylinder once in two revolutions: rpm = 120 f / cylinders for one
  // pulse a firing. Two firings a revolution for four cylinders, and so on (common practice).
  it.each([
    [4, 100, 3000, 'four cylinders'],
    [6, 150, 3000, 'six cylinders'],
    [8, 200, 3000, 'eight cylinders'],
    [5, 125, 3000, 'five cylinders'],
    [2, 50, 3000, 'one wasted-spark coil, a pulse a revolution'],
    [1, 25, 3000, 'one coil-on-plug, a pulse in two revolutions'],
    [4, 400, 12000, 'four cylinders at their limit'],
    [48, 800, 2000, 'a wheel of 24 teeth'],
  ])('%i pulses in two revolutions at %f Hz are %i rpm: %s', (pulses, hertz, rpm) => {
    expect(Math.abs(rpmAt(pulses, hertz) - rpm)).toBeLessThanOrEqual(rpm / 1000);
  });

  it('takes the fastest of the last four periods: dropped sparks do not lower it', () => {
    const board = new Board();
    // A limiter that cuts up to three of four sparks leaves gaps of two to four periods.
    for (const periodsUs of [
      [7500, 15000, 7500, 15000],
      [30000, 7500, 22500, 30000],
      [15000, 15000, 15000, 7500],
    ]) {
      board.tick({ periodsUs });
      expect(board.core.readings.rpm).toBe(4000);
    }
    board.tick({ periodsUs: [15000, 15000, 15000, 15000] });
    expect(board.core.readings.rpm).toBe(2000);
  });

  it.each([
    [4, 299, 4000],
    [4, 300, 0],
    [2, 299, 8000],
    [2, 300, 0],
    [1, 300, 16000],
    [1, 599, 16000],
    [1, 600, 0],
  ])('%i pulses in two revolutions, the last %i ms ago: %i rpm', (pulses, pulseAgeMs, rpm) => {
    const board = new Board({ pulsesPerTwoRevolutions: pulses }, { rpmMaxRpm: 16000 });
    board.tick({ pulseAgeMs });
    expect(board.core.readings.rpm).toBe(rpm);
  });

  it('no pulse is the healthy reading 0', () => {
    const board = new Board();
    board.run(1000, { pulseAgeMs: 0x3fffffff, periodsUs: [0, 0, 0, 0] });
    expect(board.core.readings.rpm).toBe(0);
    expect(healthOf(board.core.state.health.word, 'rpm')).toBe('ok');
  });

  it('a first pulse without a period is no speed yet, but no standstill either', () => {
    const board = new Board();
    board.tick({ periodsUs: [0, 0, 0, 0], pulseAgeMs: 1 });
    expect(board.core.readings.rpm).toBe(1);
  });

  it('periods of noise are high, not a speed', () => {
    const board = new Board();
    board.tick({ periodsUs: [7500, 1, 7500, -7500] });
    expect(healthOf(board.core.state.health.word, 'rpm')).toBe('high');
  });
});

describe('vehicle speed and supply', () => {
  // 100 km/h are 27.78 m/s; with four pulses a metre that is one every 9,000 us.
  it.each([
    [9000, 1000],
    [11250, 800],
    [180000, 50],
    [4500, 2000],
  ])('a period of %i us at 4 pulses a metre is %i tenths of a km/h', (speedPeriodUs, dkmh) => {
    const board = new Board();
    board.tick({ speedPeriodUs });
    expect(Math.abs(board.core.readings.speedDkmh - dkmh)).toBeLessThanOrEqual(dkmh / 100);
  });

  it.each([
    [1999, 800],
    [2000, 0],
  ])('the last pulse %i ms ago: %i', (speedAgeMs, dkmh) => {
    const board = new Board();
    board.tick({ speedAgeMs });
    expect(board.core.readings.speedDkmh).toBeGreaterThanOrEqual(dkmh);
    expect(board.core.readings.speedDkmh).toBeLessThanOrEqual(dkmh + 5);
  });

  it('a divider of 40 V over the full range reads 9.5, 13.8 and 16 V within 10 mV', () => {
    const board = new Board();
    for (const mv of [9500, 13800, 16000, 0, 39990]) {
      board.tick({ supplyCode: Math.round((mv / 40000) * CODE_MAX) });
      expect(Math.abs(board.core.readings.supplyMv - mv)).toBeLessThanOrEqual(10);
    }
  });

  it.each([-1, CODE_MAX + 1, 22610 + 65536, 0x7fffffff, -0x80000000, 65544000])(
    'a supply code of %i is unhealthy',
    (supplyCode) => {
      const board = new Board();
      board.tick({ supplyCode });
      expect(healthOf(board.core.state.health.word, 'supply')).not.toBe('ok');
    },
  );
});

describe('what is not fitted', () => {
  it('leaves its reading alone and has no fault', () => {
    const board = new Board({ fitted: 7 }, { frostSensor: 1 });
    board.tick({ ambientCode: 0, humidityCode: 0, levelCode: 9, supplyCode: -5 });
    expect(board.core.readings).toMatchObject({ ambientDc: 0, humidityPm: 0, supplyMv: 0 });
    expect(board.core.state.health.word).toBe(0);
  });

  it('a level switch reads 1 only when closed', () => {
    const board = new Board();
    for (const [levelCode, level] of [
      [1, 1],
      [0, 0],
      [2, 0],
      [-1, 0],
    ] as const) {
      board.tick({ levelCode });
      expect(board.core.readings.level).toBe(level);
    }
  });
});

describe('the ambient pressure under boost', () => {
  const STILL = { pulseAgeMs: 0x3fffffff };

  it('is the mean of 1 s at 0 rpm, and is reported', () => {
    const board = new Board();
    expect(board.core.state.calibrate.ambientSource).toBe(AmbientSource.Standard);
    // 51 samples from 0 to 1,000 ms, alternating: their mean is 900 hPa to the nearest.
    for (let at = 0; at < 51; at++) {
      board.tick({ ...STILL, boostCode: manifoldCode(at % 2 === 0 ? 890 : 910) });
      if (at === 49) expect(board.core.state.calibrate.ambientHpa).toBe(1013);
    }
    const state = board.core.state;
    expect(state.calibrate.ambientSource).toBe(AmbientSource.Measured);
    expect(Math.abs(state.calibrate.ambientHpa - 900)).toBeLessThanOrEqual(2);
    const last = (state.events.total - 1) & 15;
    expect([state.events.ids[last], state.events.details[last]]).toEqual([
      12,
      state.calibrate.ambientHpa,
    ]);
  });

  it.each([
    [545, false],
    [555, true],
    [1075, true],
    [1085, false],
  ])('a mean of %i hPa is accepted: %s', (hPa, accepted) => {
    const board = new Board();
    board.run(1200, { ...STILL, boostCode: manifoldCode(hPa) });
    expect(board.core.state.calibrate.ambientSource === AmbientSource.Measured).toBe(accepted);
    if (!accepted) expect(board.core.state.calibrate.ambientHpa).toBe(1013);
  });

  it('is reported when it changes, not every second', () => {
    const board = new Board();
    board.run(5000, { ...STILL, boostCode: manifoldCode(900) });
    const { ids, total } = board.core.state.events;
    expect(ids.slice(0, total).filter((id) => id === 12)).toHaveLength(1);
  });

  it('begins anew when the engine turns in between', () => {
    const board = new Board();
    board.run(900, { ...STILL, boostCode: manifoldCode(900) });
    board.tick({ pulseAgeMs: 1 });
    board.run(900, STILL);
    expect(board.core.state.calibrate.ambientSource).toBe(AmbientSource.Standard);
    board.run(200, STILL);
    expect(board.core.state.calibrate.ambientSource).toBe(AmbientSource.Measured);
  });

  it('is not taken from a code outside its band', () => {
    const board = new Board();
    board.run(2000, { ...STILL, boostCode: 0 });
    expect(board.core.state.calibrate.ambientSource).toBe(AmbientSource.Standard);
  });

  it.each([
    [940, AmbientSource.Stored, 940],
    [550, AmbientSource.Stored, 550],
    [549, AmbientSource.Standard, 1013],
    [1081, AmbientSource.Standard, 1013],
    [0, AmbientSource.Standard, 1013],
    [Number.NaN, AmbientSource.Standard, 1013],
  ])('stored as %f hPa before any is measured', (ambientHpa, source, used) => {
    const board = new Board();
    boot(board.core, { ...POWER_ON, ambientHpa });
    board.tick();
    expect(board.core.state.calibrate).toMatchObject({ ambientSource: source, ambientHpa: used });
  });

  it('keeps a sum of many short ticks in its range', () => {
    const board = new Board();
    for (let at = 0; at < 900; at++) {
      board.tick({ ...STILL, boostCode: manifoldCode(900) }, 1);
    }
    for (let at = 0; at < 200; at++) board.tick(STILL, 1);
    expect(Math.abs(board.core.state.calibrate.ambientHpa - 900)).toBeLessThanOrEqual(2);
  });
});

describe('codes outside their band', () => {
  const INT32_ABSURD = [-0x80000000, -1, CODE_MAX + 1, 0x7fffffff];

  it.each(INT32_ABSURD)('%i on every input is a fault each, never a reading', (code) => {
    const board = new Board({
      levelKind: LevelKind.Gauge,
      level: straight([2000, 0], [60000, 3e6]),
    });
    board.tick();
    board.tick({
      boostCode: code,
      railCode: code,
      chargeCode: code,
      ambientCode: code,
      humidityCode: code,
      levelCode: code,
      supplyCode: code,
    });
    const fault = code < 0 ? 'low' : 'high';
    const word = board.core.state.health.word;
    for (const input of ['boost', 'charge', 'ambient', 'humidity', 'level', 'supply'] as const) {
      expect([input, healthOf(word, input)]).toEqual([input, fault]);
    }
    expect(board.core.state.output.pump).toBe(0);
  });

  it('the fault of one tick is gone with it', () => {
    const board = new Board();
    board.tick({ humidityCode: 0 });
    expect(board.core.readings.faults).toBe(faultBits('humidity', 'low'));
    board.tick({ humidityCode: 30000 });
    expect(board.core.readings.faults).toBe(0);
  });

  it('hands switches, feedback and freshness on as they are', () => {
    const board = new Board();
    board.tick({ arm: 0, stage: 0, button: 1, feedback: 1, maintenance: 1, fresh: Input.Rpm });
    expect(board.core.readings).toMatchObject({
      arm: 0,
      stage: 0,
      button: 1,
      feedback: 1,
      maintenance: 1,
      fresh: Input.Rpm,
    });
    expect(board.core.readings.nowMs).toBe(board.codes.nowMs);
    // Codes are read rounded down, by at most a step of 0.1 degC.
    expect(temperatureCode(600) - temperatureCode(board.core.readings.chargeDc)).toBeLessThan(21);
  });
});
