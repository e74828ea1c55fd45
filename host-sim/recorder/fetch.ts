/**
 * Where a run log comes from: a controller over the link, which tells which sectors hold something before
 * their bytes are read, or a file that was read out of the flash. Gives the bytes of the region and the
 * account. Throws E-LINK-03 to -08 and E-RECORD-02.
 */
import type { Readable } from 'node:stream';
import { Fault } from '../fault.js';
import { readBytes, shownName } from '../files.js';
import { readFlash, type Device } from '../link/device.js';
import { MessageType, readRecorder, SECTORS_AT_ONCE, u16 } from '../link/messages.js';
import { ACCOUNT, ERASED, FLASH, RUN_LOG, SECTOR_BYTES } from '../pack/flash-map.js';
import { isUf2 } from '../pack/uf2.js';
import { flashOf } from '../pack/verify.js';
import { shown } from '../shown.js';
import { newestAccount, type Account } from './account.js';
import { SECTOR_COUNT } from './log.js';

/** As UF2 the whole flash is twice as long; a raw read-out may be of a larger chip. */
const FLASH_FILE_MAX = 16 * 1024 * 1024;

export interface Recorded {
  /** The whole region of the run log; what was not read counts as erased. */
  readonly region: Uint8Array;
  /** Undefined if none is stored. */
  readonly account: Account | undefined;
  /** True while the recorder has no space; undefined where nobody could say. */
  readonly isFull: boolean | undefined;
}

/** Reads what the controller recorded. It goes on recording meanwhile. */
export async function fetchRecorded(
  device: Device,
  onProgress: (done: number, all: number) => void = () => undefined,
): Promise<Recorded> {
  const { client } = device;
  const what = 'the run log is not told';
  const { account, isFull } = readRecorder(await client.demand(what, MessageType.Recorder));
  const used = await usedSectors(device);
  const region = new Uint8Array(RUN_LOG.length).fill(ERASED);
  let done = 0;
  for (const sector of used) {
    const at = sector * SECTOR_BYTES;
    region.set(await readFlash(device, RUN_LOG.address + at, SECTOR_BYTES), at);
    onProgress(++done, used.length);
  }
  return { region, account, isFull };
}

/** The sectors that hold a part of the log. */
async function usedSectors({ client }: Device): Promise<number[]> {
  const used: number[] = [];
  for (let first = 0; first < SECTOR_COUNT; first += SECTORS_AT_ONCE) {
    const answer = await client.demand('the run log is not told', MessageType.Sectors, u16(first));
    for (let at = 1; at + 4 <= answer.byteLength; at += 4) {
      if (answer.getUint32(at, true) !== 0) used.push(first + (at - 1) / 4);
    }
  }
  return used;
}

/** Takes the run log out of a file of the whole flash, raw or UF2. */
export async function recordedOf(file: string, input: Readable): Promise<Recorded> {
  const flash = await readFlashFile(file, input);
  const part = ({ address, length }: typeof RUN_LOG) =>
    flash.subarray(address - FLASH.address, address - FLASH.address + length);
  return { region: part(RUN_LOG), account: newestAccount(part(ACCOUNT)), isFull: undefined };
}

async function readFlashFile(file: string, input: Readable): Promise<Uint8Array> {
  const bytes = await readBytes(file, input, FLASH_FILE_MAX);
  const flash = isUf2(bytes) ? flashOf(bytes, file) : bytes;
  if (flash.length >= FLASH.length) return flash;
  const sentence = `${shown(shownName(file))} has ${bytes.length} bytes; a read-out of the whole flash has ${FLASH.length}`;
  throw new Fault('E-RECORD-02', sentence, { file });
}
