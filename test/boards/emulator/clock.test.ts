/**
 * Time of the emulated board: alarms ring at their own time and in order, the core's cycles move time
 * on, and a change of frequency changes what a cycle is worth from then on only.
 */
import { expect, test } from 'vitest';
import { BoardClock } from '../../../boards/emulator/clock.js';

test('alarms ring in the order of their times, each at its own time', () => {
  const clock = new BoardClock();
  const rung: [string, number][] = [];
  const alarm = (name: string) => clock.createAlarm(() => rung.push([name, clock.nanos]));
  alarm('late').schedule(300);
  alarm('early').schedule(100);
  const gone = alarm('cancelled');
  gone.schedule(200);
  gone.cancel();
  clock.advanceTo(250);
  expect(rung).toEqual([['early', 100]]);
  expect(clock.soonestNanos).toBe(300);
  clock.advanceTo(1000);
  expect(rung).toEqual([
    ['early', 100],
    ['late', 300],
  ]);
  expect(clock.nanos).toBe(1000);
  expect(clock.soonestNanos).toBe(Infinity);
});

test('an alarm set by an alarm rings in the same advance, if it is due in it', () => {
  const clock = new BoardClock();
  const rung: number[] = [];
  const again = clock.createAlarm(() => {
    rung.push(clock.nanos);
    if (rung.length < 3) again.schedule(40);
  });
  again.schedule(40);
  clock.advanceTo(100);
  expect(rung).toEqual([40, 80]);
  clock.advanceTo(200);
  expect(rung).toEqual([40, 80, 120]);
});

test('the core may run to the next alarm and not past it', () => {
  const clock = new BoardClock();
  const core = { cycles: 1000 };
  clock.attach(core);
  clock.setFrequency(125e6);
  clock.createAlarm(() => undefined).schedule(80);
  clock.setLimit(1e6);
  // 80 ns are ten cycles of 8 ns; the count after the tenth is the first that is due.
  expect(clock.limitCycles).toBe(1011);
  // A sooner alarm, set meanwhile, shortens the run.
  clock.createAlarm(() => undefined).schedule(16);
  expect(clock.limitCycles).toBe(1003);
});

test('cycles before a change of frequency keep what they were worth', () => {
  const clock = new BoardClock();
  const core = { cycles: 0 };
  clock.attach(core);
  clock.setFrequency(1e6);
  core.cycles = 5;
  expect(clock.nanos).toBe(5000);
  clock.setFrequency(125e6);
  core.cycles = 130;
  expect(clock.nanos).toBe(5000 + 125 * 8);
});

test('a reset forgets every alarm but those of the world around the chip', () => {
  const clock = new BoardClock();
  const rung: string[] = [];
  const chip = clock.createAlarm(() => rung.push('chip'));
  const world = clock.createAlarm(() => rung.push('world'));
  chip.schedule(10);
  world.schedule(20);
  clock.forgetAllBut([world]);
  clock.advanceTo(30);
  expect(rung).toEqual(['world']);
});
