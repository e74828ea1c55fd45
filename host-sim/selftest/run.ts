/**
 * The whole self-test in its order: what the device carries, inputs at rest and one by one, then outputs with
 * the pump unplugged, then water. Whatever ends it, both outputs are open: trials end when asked, when the
 * line falls silent, and by their time; water sprays only while a person holds the button.
 */
import { Cause } from '../../controller/tick/5-cutoffs.js';
import { Fault } from '../fault.js';
import { atInterrupt } from '../interrupt.js';
import { carriedFingerprint, readCarriedPack } from '../link/carried-pack.js';
import type { Pack } from '../pack/compose.js';
import type { Bench } from './bench.js';
import { isStill, testAtRest, testOneByOne } from './inputs.js';
import { openArm, testDry, testLamp, testSupervisor, testWatchdog } from './dry.js';
import { REPAIRED, UNPLUGGED, WATER, type StepName } from './steps.js';
import { testWater } from './water.js';

/** Said first, and when it ends early. */
export const BEFORE: readonly string[] = [
  'Self-test. Engine off and cool, car held, ignition key with you. Take the removable link out and unplug the pump; keep hands, hair and clothing clear of belts, fan and hot parts. Water only where it may run off. The event decides what may be fitted; this test claims no compliance.',
  'Ctrl-C ends it at any time: both outputs are then open within 0.3 s.',
];
export const ENDS_OPEN =
  'smirr: the self-test ends here; the controller opens both outputs by itself within 0.3 s. Let go of the button, open the arm switch, take the link out.';

const DRY: readonly StepName[] = [
  'armOpens',
  'refill',
  'noPump',
  'enable',
  'pump',
  'supervisor',
  'watchdog',
];
const WET: readonly StepName[] = ['ready', 'spray', 'stop', 'mist'];

/** Runs it; gives the fingerprint that the device tells. Outcomes are kept by the bench. */
export async function runSelfTest(bench: Bench, pack: Pack): Promise<string | undefined> {
  const forget = atInterrupt(() => bench.person.tell(ENDS_OPEN));
  let isThrough = false;
  try {
    const fingerprint = await testCarried(bench, pack);
    bench.person.tell(...BEFORE);
    await bench.person.ask('Press Enter when the pump is unplugged and all switches are open.');
    bench.hands.plug(false);
    await bench.settle();
    await testAtRest(bench);
    await testOneByOne(bench);
    await bench.restart();
    await testLamp(bench);
    await dry(bench);
    await water(bench);
    await testEnd(bench);
    isThrough = true;
    return fingerprint;
  } finally {
    forget();
    bench.open();
    if (!isThrough) bench.person.tell(ENDS_OPEN);
  }
}

async function testCarried(bench: Bench, pack: Pack): Promise<string | undefined> {
  bench.person.tell('The controller is hashing its image and bundle.');
  const told = await readCarriedPack(bench.device, pack);
  const code = carriedFingerprint(told, pack)?.code;
  const detail =
    code === undefined ? 'another image or bundle than this smirr packs' : `fingerprint ${code}`;
  bench.note(
    'carried',
    code === undefined ? 'fail' : 'pass',
    `${detail}, settings ${told.content.sequence}`,
  );
  return code;
}

async function dry(bench: Bench): Promise<void> {
  const wasKept = await isKept(bench);
  if (!isStill(await bench.see())) {
    return leaveOut(bench, DRY, 'the sensed low side is high, or the engine turns');
  }
  const question =
    'Now enable and the low side are driven. The pump must be unplugged: the device ends it if it is not.';
  bench.person.tell('Put the removable link back in; its contacts are live from here on.');
  if (!(await bench.person.confirms(question, UNPLUGGED)))
    return leaveOut(bench, DRY, 'not confirmed');
  await testDry(bench);
  await testSupervisor(bench);
  await letGo(bench, wasKept);
  await testWatchdog(bench);
}

async function water(bench: Bench): Promise<void> {
  if (bench.hasFailed()) return leaveOut(bench, WET, 'something failed before; mend it first');
  await clearKept(bench);
  if (bench.hasFailed()) return leaveOut(bench, WET, 'the pump circuit stays blocked');
  const question =
    'Now with water. It will spray while the button is held: plain water, no frost, nobody in front of the nozzles, no hot exhaust or ignition in the spray. A line that comes off under pressure whips: eye protection.';
  if (!(await bench.person.confirms(question, WATER))) return leaveOut(bench, WET, 'not confirmed');
  await testWater(bench);
}

/** Whether the core keeps, over power, that the pump was on though commanded off. */
async function isKept(bench: Bench): Promise<boolean> {
  return ((await bench.see()).latched & Cause.PumpStuckOn) !== 0;
}

/** The restart after the supervisor. What only the missing pump has latched goes with it. */
async function letGo(bench: Bench, wasKept: boolean): Promise<void> {
  if (wasKept || !(await isKept(bench))) return bench.restart();
  await clearAndLook(bench, 'latched by the missing pump, and cleared');
}

/** Tells the controller that the circuit is sound; `gone` is said if it then lets go. */
async function clearAndLook(bench: Bench, gone: string): Promise<void> {
  await bench.clear();
  const isGone = !(await isKept(bench));
  bench.note('cleared', isGone ? 'pass' : 'fail', isGone ? gone : 'it is still kept');
}

/** A pump that once was on though commanded off is blocked over power until a person says it is mended. */
async function clearKept(bench: Bench): Promise<void> {
  if (!(await isKept(bench))) return;
  const question =
    'This controller has seen its pump on though commanded off, or armed without a pump, and keeps that. Only if the cause was found and mended:';
  if (!(await bench.person.confirms(question, REPAIRED))) {
    return bench.note('cleared', 'fail', 'not confirmed; it stays blocked');
  }
  await clearAndLook(bench, 'told sound');
}

function leaveOut(bench: Bench, steps: readonly StepName[], why: string): void {
  for (const step of steps) bench.note(step, 'not tried', why);
}

async function testEnd(bench: Bench): Promise<void> {
  bench.open();
  const isOpen = await openArm(bench);
  const { look } = await bench.see();
  const passes = isOpen && !look.pump && !look.enable;
  const detail = `arm switch ${isOpen ? 'open' : 'closed'}, pump ${look.pump ? 'on' : 'off'}, enable ${look.enable ? 'closed' : 'open'}`;
  bench.note('outputs', passes ? 'pass' : 'fail', detail);
  bench.person.tell(
    'Open the bench strap before the car is driven: closed at power-up it is service mode.',
  );
}

/** Refuses a device that cannot be tested. Throws E-LINK-06. */
export function requireBench({ hello }: Bench['device']): void {
  if (!hello.isBench) {
    const sentence = 'no self-test: close the bench strap and power the controller up anew';
    throw new Fault('E-LINK-06', sentence);
  }
  if (hello.isLocked) {
    throw new Fault('E-LINK-06', 'no self-test: the lock strap is closed, and it must restart');
  }
  if (hello.cause !== 0) {
    const sentence = `no self-test: its outputs are dropped, cause ${hello.cause} (docs/firmware.md); power it up anew`;
    throw new Fault('E-LINK-06', sentence);
  }
}

/** 'passed' only if every step did. */
export function resultOf(
  bench: Pick<Bench, 'outcomes' | 'hasFailed'>,
): 'passed' | 'failed' | 'not complete' {
  if (bench.hasFailed()) return 'failed';
  return bench.outcomes.every(({ verdict }) => verdict === 'pass') ? 'passed' : 'not complete';
}
