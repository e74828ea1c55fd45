/**
 * Trials of the self-test on the emulated chip: what they drive and for how long, what ends them, and that
 * supervisor and watchdog act when they are tripped on purpose. Bounds are those of docs/link.md and of
 * docs/control.md, "Second layer".
 */
import { beforeAll, describe, expect, test } from 'vitest';
import type { Board, Snapshot } from '../../boards/emulator/board.js';
import { MessageType, readTrial, TRIAL, TRIAL_ENDS } from '../../host-sim/link/messages.js';
import { boardWith, feed, HAS_IMAGE, NEEDS_IMAGE, smallBundle } from './kit.js';
import { LinkClient, u16, u32 } from './link-kit.js';

const NOTHING = 'return 0;';
/** Feedback is seen within two ticks, and each tick acts at its end. */
const SEEN_MS = 80;

function begun(board: Board): LinkClient {
  feed(board, { rpm: 0, arm: 0, stage: 0 });
  board.pins.setSwitch('bench', true);
  board.circuit.fault = 'open';
  board.powerOn();
  board.runMs(2600);
  return new LinkClient(board);
}

const request = (what: number, ms: number, word: number = TRIAL.unplugged) => [
  what,
  ...u16(ms),
  ...u32(word),
];

/** Asks each 100 ms, as the host does, until the trial is over; gives what the device says then. */
function follow(client: LinkClient, withinMs: number) {
  for (let passedMs = 0; passedMs < withinMs; passedMs += 100) {
    const told = readTrial(client.ask(MessageType.Tried));
    if (told.what === 0) return told;
    client.board.runMs(90);
  }
  throw new Error('the trial does not end');
}

describe.skipIf(!HAS_IMAGE)(`trials${NEEDS_IMAGE}`, () => {
  let board: Board;
  let client: LinkClient;
  let ready: Snapshot;
  beforeAll(() => {
    board = boardWith(smallBundle(NOTHING));
    client = begun(board);
    ready = board.snapshot();
  });
  const begin = (what: number, ms: number, word?: number) =>
    client.result(MessageType.Try, request(what, ms, word));

  test('enable alone alternates for the time asked for, and is open afterwards', () => {
    ready.restore();
    expect(begin(TRIAL.enable, 500)).toBe(0);
    board.runMs(200);
    expect(board.pins.isEnableClosed).toBe(true);
    const told = follow(client, 2000);
    expect(TRIAL_ENDS[told.ended]).toBe('its time was over');
    expect(told.ticks).toBe(25);
    board.runMs(20);
    expect(board.pins.isEnableClosed).toBe(false);
    expect(board.pins.changes.some(({ name }) => name === 'pump')).toBe(false);
  });

  test('the pump comes after enable stood alone, and goes when its time is over', () => {
    ready.restore();
    expect(begin(TRIAL.both, 600)).toBe(0);
    board.runMs(120);
    expect([board.pins.isEnableClosed, board.pins.levels['pump']]).toEqual([true, 0]);
    board.runMs(120);
    expect(board.pins.levels['pump']).toBe(1);
    follow(client, 2000);
    board.runMs(5);
    expect(board.pins.levels['pump']).toBe(0);
  });

  test('a pump that is plugged in all the same never gets its low side', () => {
    ready.restore();
    board.circuit.fault = 'none';
    expect(begin(TRIAL.both, 5000)).toBe(0);
    board.runMs(2 * SEEN_MS);
    expect(board.pins.isEnableClosed).toBe(false);
    expect(board.pins.changes.some(({ name }) => name === 'pump')).toBe(false);
    expect(TRIAL_ENDS[follow(client, 100).ended]).toContain('pump is plugged in');
  });

  test('silence of the line ends it', () => {
    ready.restore();
    expect(begin(TRIAL.both, 5000)).toBe(0);
    board.runMs(280);
    expect(board.pins.levels['pump']).toBe(1);
    board.runMs(120);
    expect([board.pins.isEnableClosed, board.pins.levels['pump']]).toEqual([false, 0]);
    expect(TRIAL_ENDS[follow(client, 100).ended]).toContain('300 ms');
  });

  test.each([
    { what: 'a tach pulse', act: () => board.pins.drive('tach', 1), why: 'tach pulse' },
    { what: 'the strap opened', act: () => board.pins.setSwitch('bench', false), why: 'strap' },
    {
      what: 'the arm switch moved',
      act: () => board.pins.setSwitch('arm', true),
      why: 'arm switch',
    },
    { what: 'asked to', act: () => client.result(MessageType.Try, request(0, 0)), why: 'asked' },
  ])('$what ends it', ({ act, why }) => {
    ready.restore();
    expect(begin(TRIAL.both, 5000)).toBe(0);
    board.runMs(250);
    expect(board.pins.levels['pump']).toBe(1);
    act();
    board.runMs(SEEN_MS);
    expect([board.pins.isEnableClosed, board.pins.levels['pump']]).toEqual([false, 0]);
    expect(TRIAL_ENDS[follow(client, 100).ended]).toContain(why);
  });

  test('refused: no word, another word of what, too long, twice, an injection beside it', () => {
    ready.restore();
    expect(begin(TRIAL.enable, 500, 1)).toBe(12);
    expect(begin(TRIAL.pump, 500)).toBe(3);
    expect(begin(TRIAL.enable, 15001)).toBe(3);
    expect(client.result(MessageType.Try, [1])).toBe(2);
    expect(begin(TRIAL.lamp, 2000, 0)).toBe(0);
    expect(begin(TRIAL.enable, 500)).toBe(8);
    expect(client.result(MessageType.InjectBegin, u32(0))).toBe(8);
    expect(client.result(MessageType.Save, u32(0))).toBe(4);
  });

  test('the lamp blinks by half seconds', () => {
    ready.restore();
    expect(begin(TRIAL.lamp, 2000, 0)).toBe(0);
    const from = board.pins.changes.length;
    follow(client, 3000);
    const lit = board.pins.changes.slice(from).filter(({ name }) => name === 'lamp');
    const gaps = lit.slice(1).map(({ nanos }, at) => Math.round((nanos - lit[at].nanos) / 1e6));
    expect(gaps.slice(0, 2)).toEqual([500, 500]);
  });

  test('the supervisor ends a pump of 12 s, and says so', () => {
    ready.restore();
    expect(begin(TRIAL.both, 15000)).toBe(0);
    const told = follow(client, 15000);
    expect(TRIAL_ENDS[told.ended]).toContain('dropped');
    expect(told.ticks * 20).toBeGreaterThanOrEqual(12000);
    expect(told.ticks * 20).toBeLessThanOrEqual(12260);
    expect(board.pins.levels['pump']).toBe(0);
    expect(client.ask(MessageType.Hello).getUint8(8)).toBe(8);
  });

  test('ticks held back: outputs go within 100 ms, the watchdog resets, the next boot tells', () => {
    ready.restore();
    const { boots } = board;
    expect(begin(TRIAL.stall, 1000)).toBe(0);
    for (let at = 0; at < 4; at++) {
      board.runMs(90);
      client.send(MessageType.Tried);
    }
    board.runMs(700);
    expect(board.boots).toBe(boots + 1);
    const told = readTrial(client.ask(MessageType.Tried));
    expect(told).toMatchObject({ byWatchdog: true, lastCause: 7, isPlanned: false });
    expect(told.offMs).toBeGreaterThan(50);
    expect(told.offMs).toBeLessThanOrEqual(100);
    expect(told.what).toBe(0);
  });
});

describe.skipIf(!HAS_IMAGE)(`trials, refused whole${NEEDS_IMAGE}`, () => {
  test.each([
    { what: 'without the strap at boot', bench: false, tick: NOTHING, result: 6 },
    { what: 'while the core drives', bench: true, tick: 'return 2;', result: 4 },
  ])('$what', ({ bench, tick, result }) => {
    const board = boardWith(smallBundle(tick));
    feed(board, { rpm: 0, arm: 0, stage: 0 });
    board.pins.setSwitch('bench', bench);
    board.powerOn();
    board.runMs(2600);
    board.pins.setSwitch('bench', true);
    expect(new LinkClient(board).result(MessageType.Try, request(TRIAL.enable, 500))).toBe(result);
  });
});
