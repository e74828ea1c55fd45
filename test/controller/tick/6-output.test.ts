/**
 * What a tick puts out: which cutoffs stop which kind, the one reason and its order, the lamp and
 * which of two meanings wins, and the events. Times are ms, readings are in the core's units.
 */
import { describe, expect, it } from 'vitest';
import { LevelKind } from '../../../controller/calibration.js';
import { condemn, create, fail, tellRefill } from '../../../controller/core.js';
import { calibrationForReadings } from '../../../controller/calibration.js';
import { EVENTS } from '../../../controller/events.js';
import { LIMITS } from '../../../controller/limits.js';
import { Input } from '../../../controller/readings.js';
import { Kind, Reason, REASONS } from '../../../controller/reasons.js';
import { initialSettings } from '../../../controller/settings-check.js';
import type { Settings } from '../../../controller/settings.js';
import { CUTOFFS } from '../../../controller/tick/5-cutoffs.js';
import { command, isLit, Lamp, LAMPS } from '../../../controller/tick/6-output.js';
import { Board, manifoldCode } from '../board.js';
import { beginMs, faultBits, scenario, USUAL } from '../scenario.js';
import type { Row, Scenario } from '../scenario.js';

/** What each cutoff stops, by bit, as the contract's table has it. */
const STOPS: readonly ('all' | 'automatic' | 'manual' | 'both kinds')[] = [
  'all', // disarmed
  'all', // engine-stopped
  'automatic', // sensor-lost
  'all', // late-input
  'all', // freezing
  'automatic', // too-cool
  'all', // burst-length
  'all', // duty
  'automatic', // standstill
  'automatic', // reserve, as manualFromReserve is yes
  'all', // tank-empty
  'all', // supply
  'all', // pump-circuit
  'manual', // button-stuck
  'both kinds', // not-allowed, as both are forbidden below
  'all', // bad-settings
  'all', // unexpected-reset
  'all', // late-tick
  'all', // core-fault
];

interface Out {
  readonly pump: number;
  readonly enable: number;
  readonly reason: string;
}

/** The outputs when this set of cutoffs is in force and this kind would be sprayed. */
function outputs(active: number, proposal: Kind, settings: Partial<Settings> = {}): Out {
  const all = { ...initialSettings(), ...settings };
  const core = create(all, calibrationForReadings(USUAL), LIMITS);
  const { output, clock, health, burst, cutoffs, account, events } = core.state;
  cutoffs.active = active;
  burst.proposal = proposal;
  burst.service = proposal === Kind.Service ? 1 : 0;
  health.button = proposal === Kind.Manual ? 1 : 0;
  command(output, core.rules.cutoffs, LIMITS, clock, health, burst, cutoffs, account, events);
  const reason = REASONS[output.reason]?.id ?? 'unknown';
  return { pump: output.pump, enable: output.enable, reason };
}

const FORBIDDEN = { automaticAllowed: 0, manualAllowed: 0 };

it('the pump is on only together with enable, and for a kind of spray that exists', () => {
  const core = create(initialSettings(), calibrationForReadings(USUAL), LIMITS);
  const { output, clock, health, burst, cutoffs, account, events } = core.state;
  const pumpFor = (proposal: number): number => {
    burst.proposal = proposal;
    command(output, core.rules.cutoffs, LIMITS, clock, health, burst, cutoffs, account, events);
    return output.pump;
  };
  expect([0, 1, 2, 3, 4, 5, 6, -1].map(pumpFor)).toEqual([0, 1, 1, 1, 1, 0, 0, 0]);
  // A stopped engine does not stop service itself, but outside service it opens enable.
  cutoffs.active = 1 << 1;
  expect(pumpFor(Kind.Service)).toBe(0);
});

describe.each(CUTOFFS.map((row, bit) => ({ id: row.id, bit, stops: STOPS[bit] ?? 'all' })))(
  'cutoff $id stops $stops',
  ({ id, bit, stops }) => {
    it('and nothing else', () => {
      const word = 1 << bit;
      const automatic = outputs(word, Kind.Automatic, FORBIDDEN);
      const precool = outputs(word, Kind.Precool, FORBIDDEN);
      const manual = outputs(word, Kind.Manual, FORBIDDEN);
      expect([automatic.pump, precool.pump, manual.pump, automatic.enable]).toEqual([
        stops === 'manual' ? 1 : 0,
        stops === 'manual' ? 1 : 0,
        stops === 'automatic' ? 1 : 0,
        stops === 'all' ? 0 : 1,
      ]);
      if (automatic.pump === 0) expect(automatic.reason).toBe(id);
      if (precool.pump === 0) expect(precool.reason).toBe(id);
      if (manual.pump === 0) expect(manual.reason).toBe(id);
    });

    it('and is the reason before every later one that stops the same kind', () => {
      const andLater = -(1 << bit) & ((1 << CUTOFFS.length) - 1);
      const first = (kinds: readonly string[]): string =>
        CUTOFFS.find((_, at) => at >= bit && kinds.includes(STOPS[at] ?? ''))?.id ?? 'none';
      expect(outputs(andLater, Kind.Automatic, FORBIDDEN).reason).toBe(
        first(['all', 'automatic', 'both kinds']),
      );
      expect(outputs(andLater, Kind.Manual, FORBIDDEN).reason).toBe(
        first(['all', 'manual', 'both kinds']),
      );
    });
  },
);

describe('cutoffs whose reach the settings decide', () => {
  const RESERVE = 1 << 9;
  const NOT_ALLOWED = 1 << 14;

  it('reserve stops manual too where manualFromReserve is no', () => {
    expect(outputs(RESERVE, Kind.Manual, { manualFromReserve: 0 })).toMatchObject({ pump: 0 });
    expect(outputs(RESERVE, Kind.Manual)).toMatchObject({ pump: 1, enable: 1 });
  });

  it('not-allowed stops only the kind that is forbidden', () => {
    expect(outputs(NOT_ALLOWED, Kind.Manual, { automaticAllowed: 0 }).pump).toBe(1);
    expect(outputs(NOT_ALLOWED, Kind.Automatic, { automaticAllowed: 0 }).pump).toBe(0);
    expect(outputs(NOT_ALLOWED, Kind.Precool, { automaticAllowed: 0 }).pump).toBe(0);
    expect(outputs(NOT_ALLOWED, Kind.Automatic, { manualAllowed: 0 }).pump).toBe(1);
    expect(outputs(NOT_ALLOWED, Kind.Manual, { manualAllowed: 0 }).pump).toBe(0);
  });

  it('service is stopped by what endangers people and pump, not by a stopped engine', () => {
    expect(outputs(1 << 1, Kind.Service)).toMatchObject({ pump: 1, reason: 'spray-service' });
    for (const bit of [0, 4, 10, 11, 12, 15, 16, 17, 18]) {
      expect(outputs(1 << bit, Kind.Service).pump).toBe(0);
    }
  });
});

/** Bursts short and rare enough that other reasons show. */
const HUMID: Partial<Settings> = { minDepressionDc: 50 };
const RATION: Partial<Settings> = { stageTimeMs: 600000 };

/** Presses the button and lets go of it. */
function press(car: Scenario): Row[] {
  return [...car.run(100, { button: 1 }), ...car.run(20, { button: 0 })];
}

function lastOf(rows: readonly Row[]): string {
  return rows.at(-1)?.reason ?? 'none';
}

/** How to bring about each reason that is no cutoff; each of the cutoffs is tested on its own. */
const WAYS: readonly (readonly [string, () => string])[] = [
  ['spray-automatic', () => scenario().tick().reason],
  [
    'spray-manual',
    () => {
      const car = scenario();
      car.run(200, { stage: 0 });
      return lastOf(car.run(100, { button: 1 }));
    },
  ],
  [
    'spray-precool',
    () => {
      const car = scenario({ precool: 1 });
      car.run(16000, { speedDkmh: 0, rpm: 900, boostHpa: 0, chargeDc: 300 });
      return lastOf(car.run(200, { chargeDc: 600 }));
    },
  ],
  [
    'spray-service',
    () => {
      const car = scenario({}, USUAL, { boot: { bench: true } });
      car.run(12000, { rpm: 0, boostHpa: 0 });
      return lastOf(car.run(100, { button: 1 }));
    },
  ],
  ['road-mode', () => lastOf(scenario().run(200, { stage: 0 }))],
  ['no-temperature', () => lastOf(scenario().run(200, { chargeDc: 449 }))],
  ['no-engine-speed', () => lastOf(scenario().run(200, { rpm: 2499 }))],
  ['no-boost', () => lastOf(scenario().run(200, { boostHpa: 299 }))],
  ['too-humid', () => lastOf(scenario(HUMID, Input.All).run(200, { humidityPm: 950 }))],
  ['resting', () => lastOf(scenario().run(4000))],
  [
    'no-room',
    () => {
      // A manual burst of 4 s and six of 3 s leave 2 of 24 s; the next burst needs 3.
      const car = scenario({ tempHotDc: 600 });
      car.run(200, { stage: 0 });
      press(car);
      car.run(4000);
      return lastOf(car.run(50000, { stage: 1 }));
    },
  ],
  [
    'rationed',
    () => {
      // 25 s of usable spray for 10 min: 5 s of rest are over long before the next burst is due.
      const car = scenario({ ...RATION, tempHotDc: 600 }, USUAL, { tankUl: 600000 });
      return lastOf(car.run(10000));
    },
  ],
];

describe('the reason', () => {
  it.each(WAYS)('can be %s', (id, reached) => {
    expect(reached()).toBe(id);
  });

  it('has a row for each way and each cutoff, in the order of the contract', () => {
    const ids = WAYS.map(([id]) => id);
    expect(REASONS.map((row) => row.id)).toEqual([
      ...ids.slice(0, 4),
      ...CUTOFFS.map((row) => row.id),
      ...ids.slice(4),
    ]);
    expect(REASONS[Reason.Rationed]?.id).toBe('rationed');
  });

  it('is the first in the order that holds', () => {
    const car = scenario({ ...HUMID, ...RATION, tempHotDc: 600 }, Input.All, { tankUl: 600000 });
    car.run(3020);
    // Everything holds at once, and goes in the order of the reasons.
    car.run(1100, { stage: 0, chargeDc: 240, rpm: 400, boostHpa: 0, humidityPm: 950, arm: 0 });
    const lines = [
      '4.2s: -> disarmed',
      '4.3s: armed -> disarmed',
      '4.34s: -> engine-stopped',
      '4.4s: 2499rpm -> engine-stopped',
      '5.42s: -> too-cool',
      '5.5s: 44.9C -> road-mode',
      '5.6s: stage -> road-mode',
      '5.64s: -> no-temperature',
      '5.7s: 45C -> no-engine-speed',
      '5.8s: 2500rpm -> no-boost',
      '5.9s: 300hPa -> too-humid',
      '6s: 20% -> resting',
    ];
    expect(car.play(lines)).toEqual(lines);
    expect(car.run(60000).map((row) => row.reason)).toContain('rationed');
  });

  it('names no-room before rationed', () => {
    // Five presses of 4.5 s leave 1.5 of 24 s in the window, and little above the reserve.
    const settings = { ...RATION, manualMs: 4500, tempHotDc: 600 };
    const car = scenario(settings, USUAL, { tankUl: 500000 + 22500 * 4 + 20000 });
    car.run(200, { stage: 0 });
    for (let count = 0; count < 5; count++) {
      press(car);
      car.run(5700);
    }
    expect(lastOf(car.run(6000, { stage: 1 }))).toBe('no-room');
    expect(car.run(60000).map((row) => row.reason)).toContain('rationed');
  });

  it('while the button is pressed is what stops manual, else what stops automatic', () => {
    const car = scenario({ manualAllowed: 0 });
    car.run(200, { stage: 0 });
    const lines = ['1s: -> road-mode', '1.1s: press', '1.2s: -> not-allowed', '1.3s: release'];
    expect(car.play(lines)).toEqual(lines);
    expect(lastOf(car.run(100))).toBe('road-mode');
  });

  it('of a press that cannot be answered during a rest is resting, and road-mode once released', () => {
    const car = scenario();
    car.run(200, { stage: 0 });
    press(car);
    car.run(4000);
    expect(lastOf(car.run(200, { button: 1 }))).toBe('resting');
    expect(lastOf(car.run(200, { button: 0 }))).toBe('road-mode');
  });

  it('in the tick that ends a manual burst is already the first that holds', () => {
    const car = scenario();
    car.run(200, { stage: 0 });
    press(car);
    const ended = car.runUntil((row) => row.pump === 0, 6000);
    expect(ended.reason).toBe('road-mode');
  });
});

describe('the lamp', () => {
  const shown = (car: Scenario): string => car.run(20).at(-1)?.lamp ?? 'none';

  it('is off when disarmed, steady when ready, fast when spraying', () => {
    const car = scenario();
    const lines = [
      '0s: -> lamp=fast',
      '3s: -> lamp=steady',
      '4s: disarmed -> lamp=steady',
      '4.04s: -> lamp=off',
    ];
    expect(car.play(lines)).toEqual(lines);
  });

  it('blinks twice at the reserve, spraying or disarmed all the same', () => {
    const car = scenario({}, USUAL, { tankUl: 500000 });
    car.run(100);
    expect(shown(car)).toBe('two-blinks');
    expect(car.run(100, { button: 1 }).at(-1)).toMatchObject({ pump: 1, lamp: 'two-blinks' });
    expect(car.run(100, { arm: 0 }).at(-1)?.lamp).toBe('two-blinks');
  });

  it('blinks twice while the tank is not known, whatever the estimate', () => {
    const core = create(initialSettings(), calibrationForReadings(USUAL), LIMITS);
    const { output, clock, health, burst, cutoffs, account, events } = core.state;
    account.tankKnown = 0;
    command(output, core.rules.cutoffs, LIMITS, clock, health, burst, cutoffs, account, events);
    expect(output.lamp).toBe(Lamp.TwoBlinks);
  });

  it.each([
    ['boost', { faults: faultBits('boost', 'low') }],
    ['charge', { chargeDc: 2001 }],
    ['ambient', { ambientDc: -401 }],
    ['speed', { speedDkmh: -1 }],
    ['rpm', { rpm: 12001 }],
    ['late charge', { fresh: Input.All & ~Input.Charge }],
  ])('blinks three times when automatic is blocked by %s, at the reserve too', (_, changes) => {
    const car = scenario({}, USUAL, { tankUl: 500000 });
    car.run(100);
    expect(car.run(400, changes).at(-1)?.lamp).toBe('three-blinks');
    expect(car.run(100, { arm: 0 }).at(-1)?.lamp).toBe('three-blinks');
  });

  it('shows a latched cutoff before anything but a confirmation', () => {
    const car = scenario({}, USUAL, { tankUl: 500000 });
    car.run(400, { chargeDc: 2001 });
    fail(car.core);
    expect(shown(car)).toBe('long-short');
    tellRefill(car.core);
    expect(shown(car)).toBe('confirm');
  });

  it('confirms a refill for 1 s', () => {
    const car = scenario({}, USUAL, { tankUl: 500000 });
    car.run(980, { stage: 0 });
    tellRefill(car.core);
    const rows = car.run(2000);
    // Told after the tick at 960, so until 1,960.
    expect(rows.find((row) => row.lamp !== 'confirm')?.ms).toBe(1960);
    expect(rows.at(-1)?.lamp).toBe('steady');
  });

  it('has a word for each of its meanings, and lights them as they are called', () => {
    expect(LAMPS.map((row) => row.id)).toEqual([
      'off',
      'steady',
      'fast',
      'two-blinks',
      'three-blinks',
      'long-short',
      'confirm',
    ]);
    /** The lengths of light in one pattern, ms, from its start. */
    const flashes = (lamp: Lamp): number[] => {
      const lengths: number[] = [];
      let wasLit = false;
      for (let ms = 0; ms < 2048; ms++) {
        const lit = isLit(lamp, ms);
        if (lit && !wasLit) lengths.push(0);
        if (lit) lengths.push((lengths.pop() ?? 0) + 1);
        wasLit = lit;
      }
      return lengths;
    };
    expect(flashes(Lamp.Off)).toEqual([]);
    expect(flashes(Lamp.Steady)).toEqual([2048]);
    expect(flashes(Lamp.Confirm)).toEqual([2048]);
    expect(flashes(Lamp.Fast)).toHaveLength(16);
    expect(flashes(Lamp.TwoBlinks)).toEqual([200, 200]);
    expect(flashes(Lamp.ThreeBlinks)).toEqual([200, 200, 200]);
    const [long, short, ...rest] = flashes(Lamp.LongShort);
    expect(rest).toEqual([]);
    expect(long).toBeGreaterThanOrEqual(3 * (short ?? 1000));
  });
});

describe('events', () => {
  function told(car: Scenario): string[] {
    return car.events.map((event) => event.id + ' ' + String(event.argument));
  }

  it('tell each spray with its kind, its end with its length', () => {
    const car = scenario();
    car.run(5000);
    expect(car.events.filter((event) => event.id.startsWith('spray'))).toEqual([
      { id: 'spray-began', argument: 'automatic', ms: 0 },
      { id: 'spray-ended', argument: 3000, ms: 3000 },
    ]);
  });

  it('tell each cutoff when it begins and lets go, once', () => {
    const car = scenario();
    car.run(1000);
    car.run(1000, { chargeDc: 200 });
    car.run(1000, { chargeDc: 600 });
    const cutoffs = car.events.filter((event) => event.id.startsWith('cutoff'));
    expect(cutoffs).toEqual([
      { id: 'cutoff-began', argument: 'too-cool', ms: 1000 },
      { id: 'cutoff-ended', argument: 'too-cool', ms: 2000 },
    ]);
  });

  it('tell a press that was dropped, with what stopped it', () => {
    const car = scenario();
    car.run(500);
    press(car);
    car.run(3000, { stage: 0 });
    press(car);
    car.run(4000);
    press(car);
    car.run(3000, { supplyMv: 9000 });
    press(car);
    expect(told(car).filter((text) => text.startsWith('press'))).toEqual([
      'press-dropped resting',
      'press-dropped resting',
      'press-dropped supply',
    ]);
  });

  it('tell the stage switch, when it is turned', () => {
    const car = scenario(RATION);
    car.run(1000);
    car.run(1000, { stage: 0 });
    car.run(1000, { stage: 1 });
    const stages = car.events.filter((event) => event.id.startsWith('stage'));
    expect(stages.slice(-2)).toEqual([
      expect.objectContaining({ id: 'stage-ended', ms: 1040 }),
      expect.objectContaining({ id: 'stage-began', ms: 2040 }),
    ]);
  });

  it('tell latches and what cleared them, a refill, an unknown tank', () => {
    const car = scenario({}, USUAL | Input.Feedback, { boot: { tankUl: -1 } });
    car.run(12000);
    tellRefill(car.core);
    car.runUntil((row) => row.pump === 1, 20000);
    car.run(1000, { feedback: 0 });
    car.run(3000, { arm: 0 });
    expect(told(car)).toEqual(
      expect.arrayContaining([
        'tank-unknown 0',
        'refilled 3000000',
        'latched pump-circuit',
        'latch-cleared pump-circuit',
      ]),
    );
  });

  it('tell a gauge that is over 0.5 L apart from the estimate, once', () => {
    const car = scenario({}, USUAL | Input.Level, { levelKind: LevelKind.Gauge });
    car.run(30000, { level: 2400000, stage: 0 });
    expect(told(car).filter((text) => text.startsWith('level-apart'))).toEqual([
      'level-apart 600000',
    ]);
  });

  it('tell the ambient pressure that boost goes by', () => {
    const board = new Board();
    board.run(1200, { pulseAgeMs: 10000, boostCode: manifoldCode(950) });
    const { ids, total } = board.core.state.events;
    const names = ids.slice(0, total).map((id) => EVENTS[id]?.id);
    expect(names).toContain('reference-pressure');
  });

  it('keep the latest sixteen and count all', () => {
    const car = scenario();
    for (let count = 0; count < 30; count++) {
      car.run(20, { chargeDc: 200 });
      car.run(20, { chargeDc: 600 });
    }
    expect(car.core.state.events.total).toBeGreaterThanOrEqual(60);
    expect(car.core.state.events.ids).toHaveLength(16);
    expect(car.events.length).toBe(car.core.state.events.total);
  });

  it('say what each argument is', () => {
    for (const row of EVENTS) {
      expect(row.sentence.includes('{}')).toBe(row.argument !== 'none');
      expect(row.sentence.length).toBeGreaterThan(10);
    }
  });

  it('of bad settings are a latch', () => {
    const car = scenario();
    car.run(100);
    condemn(car.core);
    condemn(car.core);
    car.run(100);
    expect(told(car).filter((text) => text === 'latched bad-settings')).toHaveLength(1);
    expect(beginMs(car.run(20), 'bad-settings')).toBeGreaterThan(0);
  });
});
