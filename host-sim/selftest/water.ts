/**
 * The self-test with the pump plugged in and water. Nothing is driven over the link here: the controller is in
 * service mode, and the person's arm switch and button make it spray; the device is only watched.
 */
import type { Bench } from './bench.js';
import { openArm, testRefill, untilTankIsFull } from './dry.js';
import { CODE, isClosed, valueOf, type Seen } from './seen.js';
import { figure, TICK_MS } from './inputs.js';

const SPRAY_MS = 2000;
const FEEDBACK_MS = 1000;
/** A look each 100 ms, and the button's debouncing. */
const OFF_MS_MAX = 300;
const START_MS = 1500;

/** Plug in, arm, spray, let go, look. The arm switch is open when it is over. */
export async function testWater(bench: Bench): Promise<void> {
  const ready =
    'Arm switch open, plug the pump in, tank filled with plain water, a jug under the nozzles or the line to them looked at by somebody.';
  if (!(await bench.person.prepared(ready))) return skipAll(bench);
  bench.hands.plug(true);
  if (!(await bench.see()).look.tankKnown && !(await testRefill(bench, 'refill')))
    return skipAll(bench);
  if (await testReady(bench)) await testSpray(bench);
  else noteRest(bench, 'not tried', 'the pump circuit is not as it must be');
  await openArm(bench);
}

function skipAll(bench: Bench): void {
  bench.note('ready', 'skipped', 'as asked');
  noteRest(bench, 'skipped', 'as asked');
}

function noteRest(bench: Bench, verdict: 'skipped' | 'not tried', why: string): void {
  for (const step of ['spray', 'stop', 'mist'] as const) bench.note(step, verdict, why);
}

async function testReady(bench: Bench): Promise<boolean> {
  await bench.person.ask(
    'Everybody clear of nozzles, belts and fan? Close the arm switch after Enter.',
  );
  await untilTankIsFull(bench);
  const armed = await bench.move({ arm: 1 }, (seen) => isClosed(seen, 'arm'));
  if (armed === undefined) {
    bench.note('ready', 'fail', 'no arm switch was seen in 30 s');
    return false;
  }
  const isLifted = (seen: Seen) => seen.look.enable && seen.codes[CODE.feedback] === 1;
  const lifted = await bench.until(isLifted, FEEDBACK_MS);
  // A circuit that is wrong is judged by the core within 250 ms.
  await bench.device.client.wait(FEEDBACK_MS);
  const now = await bench.see();
  const passes = lifted !== undefined && isLifted(now);
  const detail = `enable ${now.look.enable ? 'closed' : 'open'}, feedback ${now.codes[CODE.feedback] === 1 ? 'high' : 'low'}, cutoffs ${now.look.cutoffs.join(', ')}`;
  bench.note('ready', passes ? 'pass' : 'fail', detail);
  return passes;
}

async function testSpray(bench: Bench): Promise<void> {
  const before = valueOf(await bench.see(), 'supply');
  await bench.person.ask('After Enter hold the button: it sprays. Let go when told to.');
  const pressed = await bench.move({ button: 1 }, (seen) => isClosed(seen, 'button'));
  const begun = pressed && (await bench.until(({ look }) => look.pump, START_MS));
  if (begun === undefined) {
    const { look } = await bench.see();
    bench.note('spray', 'fail', `no spray: ${look.reason}`);
    bench.hands.move({ button: 0 });
    bench.note('stop', 'not tried', 'it did not spray');
    bench.note('mist', 'not tried', 'it did not spray');
    return;
  }
  const broken = await bench.until(({ look }) => !look.pump, SPRAY_MS);
  const under = await bench.see();
  if (broken) bench.note('spray', 'fail', `it stopped by itself: ${broken.look.reason}`);
  else {
    const volts = `${figure(before)} V, spraying ${figure(valueOf(under, 'supply'))} V`;
    bench.note('spray', 'pass', `${under.look.reason}; supply ${volts}`);
  }
  await testStop(bench, under);
  const mist = await bench.person.choose(
    'Was there mist at every nozzle, and no leak? Type yes or no:',
    ['yes', 'no'],
  );
  bench.note('mist', mist === 'yes' ? 'pass' : 'fail', `the person says ${mist}`);
}

async function testStop(bench: Bench, held: Seen): Promise<void> {
  bench.person.tell('Let go of the button.');
  bench.hands.move({ button: 0 });
  let lastHeld = held;
  const off = await bench.until((seen) => {
    if (isClosed(seen, 'button')) lastHeld = seen;
    return !seen.look.pump;
  });
  const from = lastHeld ?? off;
  if (off === undefined || from === undefined)
    return bench.note('stop', 'fail', 'the pump stays on');
  const ms = (off.look.tick - lastHeld.look.tick) * TICK_MS;
  bench.note(
    'stop',
    ms <= OFF_MS_MAX && !isClosed(off, 'button') ? 'pass' : 'fail',
    `off ${ms} ms after the button was last seen closed; at most ${OFF_MS_MAX} ms`,
  );
}
