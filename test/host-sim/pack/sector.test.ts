/**
 * Settings sectors and bundle headers byte by byte, as the tables at the top of their files say, since
 * the C side reads them by these offsets alone; and which of two sectors a device runs with. The CRC
 * is checked with zlib's (RFC 1952, the same algorithm).
 */
import { readFileSync } from 'node:fs';
import { crc32 as zlibCrc32 } from 'node:zlib';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { decodeBundle, encodeBundle } from '../../../host-sim/pack/bundle-header.js';
import * as map from '../../../host-sim/pack/flash-map.js';
import {
  decodeSector,
  encodeBothSectors,
  encodeSector,
  winningSector,
  type SectorContent,
} from '../../../host-sim/pack/sector.js';

const CONTENT: SectorContent = {
  sequence: 7,
  layoutHash: 0x2abcdef0,
  settings: [450, -1],
  calibration: [463, 0, 65535],
  steps: [32],
};

const BLANK = new Uint8Array(4096).fill(0xff);

function both(first: Uint8Array, second: Uint8Array): Uint8Array {
  return Buffer.concat([first, second]);
}

/** The sector with one byte turned over. */
function damaged(sector: Uint8Array, at: number): Uint8Array {
  // A Buffer's own slice would share the bytes.
  const bytes = Uint8Array.from(sector);
  bytes[at] ^= 1;
  return bytes;
}

describe('a settings sector', () => {
  it('has every field at its offset', () => {
    const bytes = Buffer.from(encodeSector(CONTENT));
    expect(bytes).toHaveLength(4096);
    expect(bytes.toString('latin1', 0, 4)).toBe('SMS1');
    expect([4, 8, 12, 16, 20, 24].map((at) => bytes.readUInt32LE(at))).toEqual([
      1, 7, 2, 3, 1, 0x2abcdef0,
    ]);
    expect([32, 36, 40, 44, 48, 52].map((at) => bytes.readInt32LE(at))).toEqual([
      450, -1, 463, 0, 65535, 32,
    ]);
    const covered = Buffer.concat([bytes.subarray(0, 28), bytes.subarray(32, 56)]);
    expect(bytes.readUInt32LE(28)).toBe(zlibCrc32(covered));
    expect(bytes.subarray(56).every((byte) => byte === 0xff)).toBe(true);
  });

  it('is read back as it was written', () => {
    const numbers = fc.array(fc.integer(), { maxLength: 300 });
    const word = fc.nat(0xffffffff);
    const contents = fc.record({
      sequence: word,
      layoutHash: word,
      settings: numbers,
      calibration: numbers,
      steps: numbers,
    });
    fc.assert(
      fc.property(contents, (content) => {
        expect(decodeSector(encodeSector(content))).toEqual({ ok: true, content });
      }),
    );
  });

  it('is refused when any byte of it that counts is turned over', () => {
    const sector = encodeSector(CONTENT);
    for (let at = 0; at < 56; at++)
      expect(decodeSector(damaged(sector, at)).ok, `${at}`).toBe(false);
    expect(decodeSector(damaged(sector, 56)).ok).toBe(true);
  });

  it.each([
    ['blank', BLANK],
    ['bad-magic', damaged(encodeSector(CONTENT), 0)],
    ['bad-version', damaged(encodeSector(CONTENT), 4)],
    ['bad-count', damaged(encodeSector(CONTENT), 14)],
    ['bad-count', encodeSector(CONTENT).subarray(0, 4000)],
    ['bad-crc', damaged(encodeSector(CONTENT), 40)],
  ])('says what is wrong with it: %s', (problem, bytes) => {
    expect(decodeSector(bytes)).toEqual({ ok: false, problem });
  });

  it('holds 1,016 numbers and no more', () => {
    const settings = new Array<number>(1016).fill(1);
    const full = { ...CONTENT, settings, calibration: [], steps: [] };
    expect(decodeSector(encodeSector(full)).ok).toBe(true);
    expect(() => encodeSector({ ...full, steps: [1] })).toThrow(/1017 numbers/u);
  });
});

describe('of two settings sectors', () => {
  const sector = (sequence: number, layoutHash = CONTENT.layoutHash) =>
    encodeSector({ ...CONTENT, sequence, layoutHash });
  const winner = (first: Uint8Array, second: Uint8Array) =>
    winningSector(both(first, second), CONTENT.layoutHash)?.sequence;

  it('the higher sequence wins, wherever it lies', () => {
    expect(winner(sector(3), sector(4))).toBe(4);
    expect(winner(sector(4), sector(3))).toBe(4);
    expect(winner(sector(0x7fffffff), sector(0x80000000))).toBe(0x80000000);
  });

  it('a damaged or blank one, or one of another layout, does not count', () => {
    expect(winner(damaged(sector(9), 33), sector(3))).toBe(3);
    expect(winner(sector(3), BLANK)).toBe(3);
    expect(winner(sector(3), sector(9, 1))).toBe(3);
    expect(winner(BLANK, damaged(sector(9), 33))).toBeUndefined();
  });

  it('a pack carries one with its content, and one blank', () => {
    const bytes = encodeBothSectors(CONTENT);
    expect(bytes).toHaveLength(8192);
    expect(winningSector(bytes, CONTENT.layoutHash)).toEqual(CONTENT);
    expect(bytes.subarray(4096)).toEqual(BLANK);
  });
});

describe('a bundle', () => {
  const code = Buffer.from('var smirr = 1;', 'utf8');
  const bytes = Buffer.from(encodeBundle({ type: 1, layoutHash: 0x2abcdef0, code }));

  it('has every field of its header at its offset', () => {
    expect(bytes.toString('latin1', 0, 4)).toBe('SMB1');
    expect([4, 8, 12].map((at) => bytes.readUInt32LE(at))).toEqual([1, code.length, 0x2abcdef0]);
    expect(bytes.readUInt32LE(16)).toBe(zlibCrc32(Buffer.concat([bytes.subarray(0, 16), code])));
    expect(bytes.subarray(20)).toEqual(code);
  });

  it('is found in its region whatever follows it', () => {
    const region = Buffer.concat([bytes, Buffer.alloc(100, 0xff)]);
    const reading = decodeBundle(region);
    expect(reading).toMatchObject({ ok: true, content: { type: 1, layoutHash: 0x2abcdef0 } });
    expect(reading.ok && Buffer.from(reading.content.code)).toEqual(code);
  });

  it.each([
    ['bad-magic', 0],
    ['bad-type', 5],
    ['bad-length', 9],
    ['bad-crc', 8],
    ['bad-crc', 12],
    ['bad-crc', 16],
    ['bad-crc', 33],
  ])('says what is wrong with it: %s (byte %i)', (problem, at) => {
    const region = Buffer.concat([bytes, Buffer.alloc(100, 0xff)]);
    expect(decodeBundle(damaged(region, at))).toEqual({ ok: false, problem });
  });

  it('is no more than its region', () => {
    expect(decodeBundle(bytes.subarray(0, 19))).toEqual({ ok: false, problem: 'bad-length' });
    const long = new Uint8Array(128 * 1024 - 19);
    expect(() => encodeBundle({ type: 0, layoutHash: 0, code: long })).toThrow(/at most 131052/u);
  });
});

describe('the layout of flash', () => {
  it('is that of the C side', () => {
    const header = ['board.h', 'keep.h']
      .map((name) => readFileSync(new URL(`../../../boards/pico/${name}`, import.meta.url), 'utf8'))
      .join('');
    const defined = (name: string) =>
      Number(new RegExp(`#define ${name} (0x[0-9a-fA-F]+)u`, 'u').exec(header)?.[1]);
    expect(defined('BUNDLE_ADDRESS')).toBe(map.BUNDLE.address);
    expect(defined('BUNDLE_BYTES')).toBe(map.BUNDLE.length);
    expect(defined('SETTINGS_ADDRESS')).toBe(map.SETTINGS_SECTORS.address);
    expect(defined('ACCOUNT_ADDRESS')).toBe(map.ACCOUNT.address);
    expect(defined('RUN_LOG_ADDRESS')).toBe(map.RUN_LOG.address);
  });

  it('has each region begin where the last one ends, in whole sectors, up to the end of flash', () => {
    const regions = [map.IMAGE, map.BUNDLE, map.SETTINGS_SECTORS, map.ACCOUNT, map.RUN_LOG];
    let next = map.FLASH.address;
    for (const region of regions) {
      expect(region.address).toBe(next);
      expect(region.length % map.SECTOR_BYTES).toBe(0);
      next += region.length;
    }
    expect(next).toBe(map.FLASH.address + map.FLASH.length);
  });
});
