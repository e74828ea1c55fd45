/**
 * Inputs of the self-test: all of them at rest against their ranges, then one by one, each moved by the person,
 * so that exchanged plugs and wires show. Nothing is driven; the pump is unplugged all the same.
 */
import { INPUTS, type InputName, type Readings } from '../../controller/readings.js';
import { LIMITS } from '../../controller/limits.js';
import type { Bench } from './bench.js';
import { CODE, isClosed, SWITCHES, valueOf, type Seen, type SwitchName } from './seen.js';
import { AT_REST } from './steps.js';

/** Warmed by a hand: more than noise, less than a hand can. */
const WARM_DEGC = 2;
const STAYS_DEGC = 1;
const PRESSED_HPA = 50;
const TURNS_RPM = 300;
/** A gauge counts in ul. */
const GAUGE_UL = 100_000;

/** Every fitted input against its range. */
export async function testAtRest(bench: Bench): Promise<void> {
  const seen = await bench.see();
  for (const input of INPUTS) {
    const reading = seen.readings.get(input);
    if (reading === undefined) continue;
    const { min, max, unit } = AT_REST[input];
    const value = valueOf(seen, input);
    const isIn = value >= min && value <= max;
    const bound = min === max ? `${min}` : max === Infinity ? `${min} or more` : `${min} to ${max}`;
    const health = reading.health === 'ok' ? '' : `, ${reading.health}`;
    const detail = `${figure(value)}${unit === '' ? '' : ` ${unit}`}${health}; must be ${bound}`;
    bench.note('rest', isIn && health === '' ? 'pass' : 'fail', detail, `, ${input}`);
  }
}

/** A number as people write it. */
export function figure(value: number): string {
  return String(Number(value.toFixed(3)));
}

interface Stimulus {
  readonly step: 'level' | 'charge' | 'ambient' | 'boost' | 'rpm';
  readonly say: string;
  readonly back: string;
  /** What emulated hands do, and undo. */
  readonly move: Partial<Readings>;
  readonly undo: Partial<Readings>;
  /** By how much it must move, and what must not move along. */
  readonly by: number;
  readonly unit: string;
  readonly stays?: { readonly input: InputName; readonly by: number };
  /** Whether it must be seen to come back. */
  readonly returns: boolean;
}

const HAND = 'Hold it in your hand until it is warmer by two degrees.';

const STIMULI: readonly Stimulus[] = [
  {
    ...{ step: 'level', by: 1, unit: '', returns: true },
    say: 'Tank level: move the float to where it is with an empty tank.',
    back: 'Let the float back into the water.',
    ...{ move: { level: 0 }, undo: { level: 1 } },
  },
  {
    ...{ step: 'charge', by: WARM_DEGC, unit: 'degC', returns: false },
    stays: { input: 'ambient', by: STAYS_DEGC },
    say: `Charge sensor, after the cooler. ${HAND} Not with the engine hot: a charge pipe burns.`,
    back: '',
    ...{ move: { chargeDc: 290 }, undo: { chargeDc: 250 } },
  },
  {
    ...{ step: 'ambient', by: WARM_DEGC, unit: 'degC', returns: false },
    stays: { input: 'charge', by: STAYS_DEGC },
    say: `Ambient sensor. ${HAND}`,
    back: '',
    ...{ move: { ambientDc: 240 }, undo: { ambientDc: 200 } },
  },
  {
    ...{ step: 'boost', by: PRESSED_HPA, unit: 'hPa', returns: false },
    say: 'Pressure sensor: a hand pump on its hose, 100 hPa are enough. Never more than it is made for.',
    back: '',
    ...{ move: { boostHpa: 200 }, undo: { boostHpa: 0 } },
  },
  {
    ...{ step: 'rpm', by: TURNS_RPM, unit: '1/min', returns: true },
    say: 'Tach: pulses from a signal generator, some 50 Hz at the level of your tach. The engine stays off.',
    back: 'Switch the generator off.',
    ...{ move: { rpm: 1500 }, undo: { rpm: 0 } },
  },
];

/** The three switches, then each sensor. The tach is last: after a pulse there is no service mode. */
export async function testOneByOne(bench: Bench): Promise<void> {
  for (const name of SWITCHES) await testSwitch(bench, name);
  for (const stimulus of STIMULI) await testStimulus(bench, stimulus);
}

async function testSwitch(bench: Bench, name: SwitchName): Promise<void> {
  if (!(await bench.person.acts(`Close ${SAID[name]}, and open it again after 2 s.`))) {
    bench.note(name, 'skipped', 'as asked');
    return;
  }
  const before = await bench.see();
  const closed = await bench.move(
    { [name]: 1 },
    (seen) => isClosed(seen, name) !== isClosed(before, name),
  );
  if (closed === undefined) return bench.note(name, 'fail', 'it was not seen to move in 30 s');
  const moved = SWITCHES.filter((other) => isClosed(closed, other) !== isClosed(before, other));
  const open = await bench.move({ [name]: 0 }, (seen) => !isClosed(seen, name));
  if (open === undefined) return bench.note(name, 'fail', 'it stays closed');
  if (isClosed(before, name)) return bench.note(name, 'fail', 'it was closed to begin with');
  const others = moved.filter((other) => other !== name);
  if (others.length > 0) return bench.note(name, 'fail', `${others.join(' and ')} moved with it`);
  bench.note(name, 'pass', 'closed and open seen');
}

const SAID = {
  arm: 'the arm switch',
  stage: 'the stage switch',
  button: "the driver's button",
} as const satisfies Record<SwitchName, string>;

async function testStimulus(bench: Bench, stimulus: Stimulus): Promise<void> {
  const { step, unit } = stimulus;
  const before = await bench.see();
  const reading = before.readings.get(step);
  if (reading === undefined) return;
  if (reading.health !== 'ok') {
    return bench.note(step, 'not tried', `it is ${reading.health} at rest`);
  }
  if (!(await bench.person.acts(stimulus.say))) return bench.note(step, 'skipped', 'as asked');
  const by = changeOf(bench, stimulus);
  const from = valueOf(before, step);
  const moved = await bench.move(
    stimulus.move,
    (seen) => Math.abs(valueOf(seen, step) - from) >= by,
  );
  const now = moved ?? (await bench.see());
  const along = alongWith(stimulus, before, now);
  bench.hands.move(stimulus.undo);
  if (moved === undefined || along !== '') {
    const still = `${figure(from)} -> ${figure(valueOf(now, step))} ${unit}`.trim();
    const must = moved === undefined ? `${still}; it must move by ${by}` : still;
    return bench.note(step, 'fail', along === '' ? must : `${must}; ${along}`);
  }
  if (stimulus.returns) {
    bench.person.tell(stimulus.back);
    const back = await bench.until((seen) => Math.abs(valueOf(seen, step) - from) < by);
    if (back === undefined) return bench.note(step, 'fail', 'it does not come back');
  }
  bench.note(step, 'pass', `${figure(from)} -> ${figure(valueOf(moved, step))} ${unit}`.trim());
}

/** A gauge moves by a volume, a float switch from one to the other. */
function changeOf({ carried }: Bench, { step, by }: Stimulus): number {
  return step === 'level' && carried.calibration.levelKind === 1 ? GAUGE_UL : by;
}

function alongWith({ stays }: Stimulus, before: Seen, after: Seen): string {
  if (stays === undefined || !after.readings.has(stays.input)) return '';
  const rise = valueOf(after, stays.input) - valueOf(before, stays.input);
  // One that was warmed before cools meanwhile.
  if (rise < stays.by) return '';
  return `${stays.input} rose by ${figure(rise)}: are the two exchanged?`;
}

/** The feedback must rest low and the engine be still for what follows. */
export function isStill(seen: Seen): boolean {
  return seen.codes[CODE.feedback] === 0 && valueOf(seen, 'rpm') === 0;
}

/** How long a tick lasts, ms. */
export const TICK_MS = LIMITS.tickMs;
