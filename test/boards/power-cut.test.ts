/**
 * Power cuts while the account is written, and while settings are written over the link: at every flash operation, near its
 * beginning and near its end, with what was under way left as random bits. Whatever happens, the next
 * boot finds one whole copy, the old or the new, and the outputs stay off meanwhile. All runs start
 * from one board with the new settings staged.
 */
import { beforeAll, describe, expect, test } from 'vitest';
import type { Board, Snapshot } from '../../boards/emulator/board.js';
import { initialSettings } from '../../controller/settings-check.js';
import { MessageType } from '../../host-sim/link/messages.js';
import { crc32 } from '../../host-sim/pack/crc.js';
import { ACCOUNT_MAGIC } from '../../host-sim/recorder/account.js';
import { LinkClient, u16, u32 } from './link-kit.js';
import {
  ACCOUNT_OFFSET,
  boardWith,
  boardWithAccount,
  bothSectors,
  feed,
  HAS_IMAGE,
  NEEDS_IMAGE,
  sectorOf,
  SETTINGS_OFFSET,
  smallBundle,
} from './kit.js';

/** Flash operations on the two copies of the settings; the run log goes on meanwhile. */
const onSettings = ({ flash }: Board) =>
  flash.operations.filter(({ offset }) => offset >= SETTINGS_OFFSET && offset < ACCOUNT_OFFSET);

/** Bytes in a message that stages a piece. */
const STAGE_BYTES = 224;

const NEW_RPM_ON = 3100;

/** The core of these tests: it sprays never and takes any settings. */
const QUIET = smallBundle('return 0;', 'smirr.check = function () { return 0; };');

/** Results of boards/pico/link.h. */
const DONE = 0;
const ARMED = 4;
const LOCKED = 5;
const REFUSED = 7;

describe.skipIf(!HAS_IMAGE)(`power cuts while settings are written${NEEDS_IMAGE}`, () => {
  let board: Board;
  let staged: Snapshot;
  let operations = 0;
  let writes = 0;
  let before = 0;
  let crc: number[] = [];

  const save = () => new LinkClient(board).result(MessageType.Save, crc, 10_000);

  beforeAll(() => {
    board = boardWith(QUIET, { sectors: bothSectors() });
    feed(board, { arm: 0, rpm: 0 });
    board.powerOn();
    board.runTicks(60);
    const sector = sectorOf(1, { ...initialSettings(), rpmOnRpm: NEW_RPM_ON });
    crc = u32(crc32(sector));
    const client = new LinkClient(board);
    for (let at = 0; at < sector.length; at += STAGE_BYTES) {
      const piece = [...u16(at), ...sector.subarray(at, at + STAGE_BYTES)];
      expect(client.result(MessageType.Stage, piece)).toBe(DONE);
    }
    staged = board.snapshot();
    before = board.flash.operations.length;
    expect(save()).toBe(DONE);
    operations = board.flash.operations.length;
    writes = onSettings(board).length;
    board.powerOn();
    board.runTicks(2);
  }, 200_000);

  test('uncut: the new copy is written over the one not in use, and counts at the next boot', () => {
    expect(writes).toBe(17);
    expect(board.line.text).toMatch(/settings=1 sequence=2 copy0=ok copy1=ok/);
  });

  test('outputs are off all the time', () => {
    expect(board.pins.changes.filter(({ name }) => name === 'pump')).toEqual([]);
    expect(board.pins.enableEdges).toBe(0);
  });

  test('cut at every operation: one whole copy counts, the old one until the last page', () => {
    const told: string[] = [];
    for (let operation = before; operation < operations; operation++) {
      for (const share of [0.1, 0.9]) {
        staged.restore();
        board.flash.cut = { operation, share };
        new LinkClient(board).send(MessageType.Save, crc);
        board.runUntil(() => !board.isPowered, 4000, 5);
        expect(board.isPowered).toBe(false);
        expect(board.circuit.isPumping).toBe(false);
        const from = board.line.text.length;
        board.powerOn();
        board.runTicks(1);
        const line = /settings=(-?\d+) sequence=(\d+)/.exec(board.line.text.slice(from));
        told.push(`${line?.[1]} ${line?.[2]}`);
      }
    }
    expect(told).toHaveLength(2 * (operations - before));
    for (const words of told) expect(['0 1', '1 2']).toContain(words);
    expect(told[0]).toBe('0 1');
  }, 200_000);

  test('locked or armed: nothing is written', () => {
    staged.restore();
    board.pins.setSwitch('lock', true);
    board.runTicks(3);
    expect(save()).toBe(LOCKED);
    board.pins.setSwitch('lock', false);
    board.pins.setSwitch('arm', true);
    board.runTicks(5);
    expect(save()).toBe(ARMED);
    expect(onSettings(board)).toHaveLength(0);
  });

  test('what the core would not take is not written', () => {
    const other = boardWith(smallBundle('return 0;', 'smirr.check = function () { return 1; };'));
    feed(other, { arm: 0, rpm: 0 });
    other.powerOn();
    other.runTicks(60);
    const client = new LinkClient(other);
    const sector = sectorOf(1);
    for (let at = 0; at < sector.length; at += STAGE_BYTES) {
      client.result(MessageType.Stage, [...u16(at), ...sector.subarray(at, at + STAGE_BYTES)]);
    }
    expect(client.result(MessageType.Save, u32(crc32(sector)))).toBe(REFUSED);
    expect(onSettings(other)).toHaveLength(0);
  });

  test('the lock holds for a flash operation that takes the longest, 400 ms', () => {
    staged.restore();
    board.flash.times.eraseMs = 400;
    const boots = board.boots;
    expect(save()).toBe(DONE);
    expect(board.boots).toBe(boots);
    expect(board.watchdog.bites).toBe(0);
  });
});

describe.skipIf(!HAS_IMAGE)(`power cuts while the account is written${NEEDS_IMAGE}`, () => {
  const OLD_UL = 3_000_000;
  const NEW_UL = 1_234_567;
  /** A core that sprays, and whose pump was stuck on: a flag that is written at once. */
  const bundle = smallBundle(
    'return count < 8 ? 3 : 0;',
    `smirr.account = function (index) { return index === 0 ? ${NEW_UL} : index === 2 ? 990 : 1; };`,
  );

  /** What the core is told of water and stuck pump at the boot after a cut. */
  function toldAfterCut(share: number | undefined): number[] {
    const board = boardWithAccount(bundle, OLD_UL, bothSectors());
    if (share !== undefined) board.flash.cut = { operation: 0, share };
    board.powerOn();
    board.runUntil(() => !board.isPowered || board.flash.operations.length > 0, 1000, 0.1);
    if (share === undefined) board.runTicks(3);
    else expect(board.runUntil(() => !board.isPowered, 50, 0.1)).toBe(true);
    expect(board.flash.operations[0]).toMatchObject({ kind: 'program', count: 256 });
    if (share !== undefined) {
      expect(board.circuit.isPumping).toBe(false);
      expect(board.pins.levels['pump']).toBe(0);
    }
    board.flash.cut = undefined;
    board.cutPower();
    board.powerOn();
    board.runTicks(1);
    expect(board.line.text).toContain('core=ok');
    return [board.peek('last_boot', 3), board.peek('last_boot', 2)];
  }

  test('uncut: the new record counts, with the stuck pump in it', () => {
    expect(toldAfterCut(undefined)).toEqual([NEW_UL, 1]);
  });

  test('cut anywhere in the page: the old record counts or the new one, never a mixture', () => {
    const told = [0.02, 0.2, 0.4, 0.6, 0.8, 0.98].map(toldAfterCut);
    for (const numbers of told) expect([`${OLD_UL},0`, `${NEW_UL},1`]).toContain(String(numbers));
    expect(told.map(String)).toContain(`${OLD_UL},0`);
  }, 120_000);

  test('a record that was spoilt is stepped over, and the next one is written after it', () => {
    const board = boardWithAccount(bundle, OLD_UL, bothSectors());
    board.mcu.flash.fill(0x5a, ACCOUNT_OFFSET + 32, ACCOUNT_OFFSET + 64);
    board.powerOn();
    board.runUntil(() => board.flash.operations.length > 0, 1000, 0.1);
    board.runTicks(3);
    board.cutPower();
    board.powerOn();
    board.runTicks(1);
    expect(board.peek('last_boot', 3)).toBe(NEW_UL);
    expect(board.mcu.flashView.getUint32(ACCOUNT_OFFSET + 64, true)).toBe(ACCOUNT_MAGIC);
  });
});
