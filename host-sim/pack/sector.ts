/**
 * One copy of settings and calibration as it lies in flash: a sector of 4,096 bytes, everything
 * little-endian. There are two of them (flash-map.ts); the device runs with the valid one of the
 * higher sequence number, so that a power cut while one is written leaves the other.
 *
 * | offset | bytes | what |
 * |---|---|---|
 * | 0 | 4 | magic: the letters `SMS1` (as a number 0x31534D53) |
 * | 4 | 4 | format version: 1 |
 * | 8 | 4 | sequence, unsigned: 1 in a pack, one more with each write |
 * | 12 | 4 | S: how many settings follow |
 * | 16 | 4 | C: how many numbers of calibration follow |
 * | 20 | 4 | T: how many steps follow |
 * | 24 | 4 | layout hash: names and order of settings and calibration (controller/flat.ts); must be the bundle's |
 * | 28 | 4 | CRC-32/ISO-HDLC over bytes 0..27 and then 32..(32 + 4 * (S + C + T) - 1) |
 * | 32 | 4 * S | settings, int32, in the order of SETTINGS (controller/settings.ts) |
 * | 32 + 4 S | 4 * C | calibration, int32, in the order of controller/flat.ts |
 * | 32 + 4 (S + C) | 4 * T | steps, int32, in the order of STEPS below: for the C side alone |
 * | 32 + 4 (S + C + T) | to 4095 | erased (0xFF), not in the CRC |
 *
 * A sector is valid if magic and version are these, S + C + T is at most 1,016, the CRC fits, and the
 * layout hash is the one in the bundle's header. Of two valid sectors with the same sequence the
 * first counts. Nothing else about it is checked in C: the core checks the values and their count.
 */
import { crc32 } from './crc.js';
import { ERASED, SECTOR_BYTES, SETTINGS_SECTORS } from './flash-map.js';

/** `SMS1` as a little-endian number. */
export const SECTOR_MAGIC = 0x31534d53;
export const SECTOR_VERSION = 1;
export const SECTOR_HEAD_BYTES = 32;
export const SECTOR_NUMBERS_MAX = (SECTOR_BYTES - SECTOR_HEAD_BYTES) / 4;

const CRC_OFFSET = 28;

/**
 * The converter's codes that have a step, in the order of their numbers in a sector: the code handed
 * to the core is held until the filtered one has moved by at least the step (in codes of 16 bits).
 */
export const STEPS = ['boost', 'rail', 'charge', 'ambient', 'humidity', 'level', 'supply'] as const;
export type StepName = (typeof STEPS)[number];

/** What a sector holds. */
export interface SectorContent {
  readonly sequence: number;
  readonly layoutHash: number;
  readonly settings: readonly number[];
  readonly calibration: readonly number[];
  readonly steps: readonly number[];
}

/** Why a sector is not valid, in the words of the device's messages. */
export type SectorProblem = 'blank' | 'bad-magic' | 'bad-version' | 'bad-count' | 'bad-crc';

/** A sector as it was read. */
export type SectorReading =
  | { readonly ok: true; readonly content: SectorContent }
  | { readonly ok: false; readonly problem: SectorProblem };

/** The 4,096 bytes of a sector. Throws an Error if the numbers do not fit into it. */
export function encodeSector(content: SectorContent): Uint8Array {
  const { settings, calibration, steps } = content;
  const numbers = [...settings, ...calibration, ...steps];
  if (numbers.length > SECTOR_NUMBERS_MAX) {
    throw new Error(`${numbers.length} numbers; a sector holds at most ${SECTOR_NUMBERS_MAX}`);
  }
  const bytes = new Uint8Array(SECTOR_BYTES).fill(ERASED);
  const view = new DataView(bytes.buffer);
  const head = [
    SECTOR_MAGIC,
    SECTOR_VERSION,
    content.sequence,
    settings.length,
    calibration.length,
    steps.length,
    content.layoutHash,
  ];
  head.forEach((value, index) => view.setUint32(4 * index, value, true));
  numbers.forEach((value, index) => view.setInt32(SECTOR_HEAD_BYTES + 4 * index, value, true));
  view.setUint32(CRC_OFFSET, sectorCrc(bytes, numbers.length), true);
  return bytes;
}

/** Reads a sector; whether its layout is the bundle's is the caller's question. Never throws. */
export function decodeSector(bytes: Uint8Array): SectorReading {
  if (isBlank(bytes)) return { ok: false, problem: 'blank' };
  if (bytes.length !== SECTOR_BYTES) return { ok: false, problem: 'bad-count' };
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const word = (offset: number) => view.getUint32(offset, true);
  if (word(0) !== SECTOR_MAGIC) return { ok: false, problem: 'bad-magic' };
  if (word(4) !== SECTOR_VERSION) return { ok: false, problem: 'bad-version' };
  const [settingsCount, calibrationCount, stepCount] = [word(12), word(16), word(20)];
  const count = settingsCount + calibrationCount + stepCount;
  if (count > SECTOR_NUMBERS_MAX) return { ok: false, problem: 'bad-count' };
  if (word(CRC_OFFSET) !== sectorCrc(bytes, count)) return { ok: false, problem: 'bad-crc' };
  const numbers = Array.from({ length: count }, (_, index) =>
    view.getInt32(SECTOR_HEAD_BYTES + 4 * index, true),
  );
  const content: SectorContent = {
    sequence: word(8),
    layoutHash: word(24),
    settings: numbers.slice(0, settingsCount),
    calibration: numbers.slice(settingsCount, settingsCount + calibrationCount),
    steps: numbers.slice(settingsCount + calibrationCount),
  };
  return { ok: true, content };
}

/** The two sectors of a freshly made pack: one with the content, one blank. */
export function encodeBothSectors(content: SectorContent): Uint8Array {
  const bytes = new Uint8Array(SETTINGS_SECTORS.length).fill(ERASED);
  bytes.set(encodeSector(content));
  return bytes;
}

/** The content the device runs with: of the valid sectors the one of the higher sequence. */
export function winningSector(
  bothBytes: Uint8Array,
  layoutHash: number,
): SectorContent | undefined {
  let winner: SectorContent | undefined;
  for (let at = 0; at + SECTOR_BYTES <= bothBytes.length; at += SECTOR_BYTES) {
    const reading = decodeSector(bothBytes.subarray(at, at + SECTOR_BYTES));
    if (!reading.ok || reading.content.layoutHash !== layoutHash) continue;
    if (winner === undefined || reading.content.sequence > winner.sequence)
      winner = reading.content;
  }
  return winner;
}

/** True if every byte is erased. */
export function isBlank(bytes: Uint8Array): boolean {
  return bytes.every((byte) => byte === ERASED);
}

function sectorCrc(bytes: Uint8Array, count: number): number {
  const end = SECTOR_HEAD_BYTES + 4 * count;
  return crc32(bytes.subarray(0, CRC_OFFSET), bytes.subarray(SECTOR_HEAD_BYTES, end));
}
