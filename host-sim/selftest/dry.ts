/**
 * Outputs of the self-test with the pump unplugged: lamp, enable by a volt meter, low side by a continuity
 * tester, then supervisor and watchdog tripped on purpose. Everything is driven by trials, which the device
 * ends by itself; each begins only after the person has typed that the pump is unplugged.
 */
import { TRIAL } from '../link/messages.js';
import { endingOf, type Bench } from './bench.js';
import { figure, TICK_MS } from './inputs.js';
import { isClosed, valueOf } from './seen.js';
import type { StepName } from './steps.js';

const FLASHES = 4;
const FLASH_MS = 1000;
const METER_MS = 5000;
const DEAD_VOLTS_MAX = 0.5;
const SUPPLY_VOLTS_OFF_MAX = 1;
const CONDUCTS = 3;
const CONDUCT_MS = 1200;
const PAUSE_MS = 1000;
/** Ticks of a trial in which enable stands alone (boards/pico/trial.c). */
const ALONE_TICKS = 8;
/** docs/control.md, "Second layer"; a look each tick adds less than 0.3 s. */
const PIECE_MS = 12_000;
const PIECE_MS_LATEST = 12_300;
const CAUSE_PUMP_LONG = 8;
const CAUSE_NO_TICK = 7;
const OFF_MS_MAX = 100;
const REFILL_MS = 4600;
const TANK_MS = 12_000;

/** The lamp: counted, so that nobody types yes without looking. */
export async function testLamp(bench: Bench): Promise<void> {
  if (!(await bench.person.prepared('Look at the lamp: it will flash a few times. Count.'))) {
    return bench.note('lamp', 'skipped', 'as asked');
  }
  const ending = endingOf(await bench.drive(TRIAL.lamp, FLASHES * FLASH_MS));
  if (ending !== '') return bench.note('lamp', 'fail', ending);
  await noteCount(bench, 'lamp', FLASHES, 'How often did it flash?');
}

/** What was sent so often must be counted so often by the person. */
async function noteCount(
  bench: Bench,
  step: StepName,
  sent: number,
  question: string,
): Promise<void> {
  const counted = await bench.person.number(question, '');
  bench.note(step, counted === sent ? 'pass' : 'fail', `sent ${sent}, counted ${counted}`);
}

/** Everything that is driven while the pump is unplugged. */
export async function testDry(bench: Bench): Promise<void> {
  await testVolts(bench, 'armOpens');
  await testRefill(bench, 'refill');
  await testMissingPump(bench);
  await testVolts(bench, 'enable');
  await openArm(bench);
  await testLowSide(bench);
}

/** Enable alone, with a meter at the plug. */
async function testVolts(bench: Bench, step: 'armOpens' | 'enable'): Promise<void> {
  const isLive = step === 'enable';
  const where = 'A volt meter between the plus contact (P5) of the unplugged pump and ground.';
  const arm = isLive
    ? 'The arm switch stays closed: the contact will be live for 5 s.'
    : 'The arm switch stays open.';
  if (!(await bench.person.prepared(`${where} ${arm} Read it while it is on.`))) {
    return bench.note(step, 'skipped', 'as asked');
  }
  const supply = valueOf(await bench.see(), 'supply');
  const ending = endingOf(await bench.drive(TRIAL.enable, METER_MS));
  if (ending !== '') return bench.note(step, 'fail', ending);
  const volts = await bench.person.number('What did the meter show, in volts?', 'volts');
  const passes = isLive
    ? Math.abs(volts - supply) <= SUPPLY_VOLTS_OFF_MAX
    : Math.abs(volts) <= DEAD_VOLTS_MAX;
  const bound = isLive
    ? `the supply, ${figure(supply)} V, within ${SUPPLY_VOLTS_OFF_MAX} V`
    : `at most ${DEAD_VOLTS_MAX} V`;
  bench.note(step, passes ? 'pass' : 'fail', `${figure(volts)} V; must be ${bound}`);
}

/** Tells a refill, without which a new device takes its tank for empty. True if it was understood. */
export async function testRefill(bench: Bench, step: StepName): Promise<boolean> {
  const question =
    'Tell the controller that the tank is full: with the arm switch open hold the button for 5 s, then let go.';
  if (!(await bench.person.acts(question))) {
    bench.note(step, 'skipped', 'as asked');
    return false;
  }
  const pressed = await bench.move({ button: 1 }, (seen) => isClosed(seen, 'button'));
  await bench.device.client.wait(REFILL_MS);
  const free = await bench.move({ button: 0 }, (seen) => !isClosed(seen, 'button'));
  const told = pressed && free && (await bench.until(({ look }) => look.tankKnown, 1000));
  if (told) bench.note(step, 'pass', `${told.look.tankL.toFixed(2)} L`);
  else
    bench.note(step, 'fail', pressed ? 'the tank is still unknown' : 'no button was seen in 30 s');
  return told !== undefined;
}

/** Armed without a pump, the core must notice. */
async function testMissingPump(bench: Bench): Promise<void> {
  if (
    !(await bench.person.acts(
      'Close the arm switch and leave it closed. The pump stays unplugged.',
    ))
  ) {
    return bench.note('noPump', 'skipped', 'as asked');
  }
  await untilTankIsFull(bench);
  const armed = await bench.move({ arm: 1 }, (seen) => isClosed(seen, 'arm'));
  if (armed === undefined) return bench.note('noPump', 'fail', 'no arm switch was seen in 30 s');
  const noticed = await bench.until(
    ({ look }) => look.cutoffs.includes('pump-circuit') && !look.enable,
    1000,
  );
  const now = noticed ?? (await bench.see());
  const detail = `cutoffs ${now.look.cutoffs.join(', ')}; enable ${now.look.enable ? 'closed' : 'open'}`;
  bench.note('noPump', noticed ? 'pass' : 'fail', detail);
}

/** A tank that was empty at boot is believed again when the level has been good for 10 s (docs/control.md). */
export async function untilTankIsFull(bench: Bench): Promise<void> {
  await bench.until(({ look }) => !look.cutoffs.includes('tank-empty'), TANK_MS);
}

/** Asks for the arm switch to be opened, and waits. */
export async function openArm(bench: Bench): Promise<boolean> {
  bench.person.tell('Open the arm switch.');
  return (await bench.move({ arm: 0 }, (seen) => !isClosed(seen, 'arm'))) !== undefined;
}

async function testLowSide(bench: Bench): Promise<void> {
  const where =
    'A continuity tester between the minus contact (P6) of the unplugged pump and ground, arm switch open: it will conduct a few times. Count.';
  if (!(await bench.person.prepared(where))) return bench.note('pump', 'skipped', 'as asked');
  for (let at = 0; at < CONDUCTS; at++) {
    const ending = endingOf(await bench.drive(TRIAL.both, CONDUCT_MS));
    if (ending !== '') return bench.note('pump', 'fail', ending);
    await bench.device.client.wait(PAUSE_MS);
  }
  await noteCount(bench, 'pump', CONDUCTS, 'How often did it conduct?');
}

/** A pump command that does not end: the second layer must end it. Only a restart lets it go. */
export async function testSupervisor(bench: Bench): Promise<void> {
  bench.person.tell(
    'Supervisor: both outputs are driven for longer than it allows, some 12 s. Pump unplugged, arm switch open.',
  );
  const trial = await bench.drive(TRIAL.both, TRIAL.msMax);
  if (typeof trial === 'string') return bench.note('supervisor', 'fail', trial);
  const onMs = (trial.ticks - ALONE_TICKS) * TICK_MS;
  const { cause } = await bench.hello();
  const isDropped = endingOf(trial).includes('dropped') && cause === CAUSE_PUMP_LONG;
  const isInTime = onMs >= PIECE_MS && onMs <= PIECE_MS_LATEST;
  const what = isDropped
    ? `dropped after ${(onMs / 1000).toFixed(2)} s, cause ${cause}`
    : `not dropped in ${(onMs / 1000).toFixed(1)} s (cause ${cause}): the trial ended it`;
  bench.note(
    'supervisor',
    isDropped && isInTime ? 'pass' : 'fail',
    `${what}; must be 12.0 to 12.3 s`,
  );
}

/** Ticks held back, with both outputs driven. */
export async function testWatchdog(bench: Bench): Promise<void> {
  bench.person.tell(
    'Watchdog: the controller holds its ticks back with both outputs driven; it must reset itself.',
  );
  const trial = await bench.drive(TRIAL.stall, TRIAL.msMax);
  if (typeof trial === 'string') return bench.note('watchdog', 'fail', trial);
  // Not the restart before, which the watchdog does too.
  if (!trial.byWatchdog || trial.isPlanned || trial.offMs === undefined) {
    return bench.note('watchdog', 'fail', 'the chip was not reset');
  }
  await bench.settle();
  const { offMs, lastCause } = trial;
  const { look } = await bench.see();
  const onFor = Number.isFinite(offMs) ? `for ${offMs} ms` : 'until the reset';
  const faults = [
    ...(offMs <= OFF_MS_MAX ? [] : [`the pump's pin was on ${onFor}`]),
    ...(lastCause === CAUSE_NO_TICK
      ? []
      : [`the cause kept is ${lastCause}, not ${CAUSE_NO_TICK}`]),
    ...(look.cutoffs.includes('unexpected-reset') ? [] : ['the core did not call it unexpected']),
  ];
  const sound = `outputs off after ${offMs} ms, reset by the watchdog, unexpected-reset active`;
  bench.note('watchdog', faults.length === 0 ? 'pass' : 'fail', faults.join('; ') || sound);
  await bench.restart();
}
