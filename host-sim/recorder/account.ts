/**
 * The account as it lies in flash (boards/pico/account-ring.c): records of 32 bytes in a ring of four
 * sectors, of which the valid one of the highest sequence counts. Bytes in, numbers out.
 */
import { crc32 } from '../pack/crc.js';

/** `SMA2` as a little-endian number. */
export const ACCOUNT_MAGIC = 0x32414d53;
export const ACCOUNT_RECORD_BYTES = 32;
const CRC_OFFSET = 28;
const FLAG_PUMP_STUCK_ON = 1;
const FLAG_HAS_RUN = 2;

export interface Account {
  /** Which record it is, from 1 on; 0 where it was told over the link. */
  readonly sequence: number;
  /** Water left by the estimate, ul; -1 if nobody knows. */
  readonly tankUl: number;
  readonly ambientHpa: number;
  /** The pump was on though commanded off: kept until a self-test clears it. */
  readonly pumpStuckOn: boolean;
  /** The engine ran in the first 60 s of the boot. */
  readonly hasRun: boolean;
  /** Counted since the device was new: sprays, ticks with the engine running, faults, refills. */
  readonly bursts: number;
  readonly engineTicks: number;
  readonly faults: number;
  readonly refills: number;
}

/** One record; undefined if it is erased, spoilt or of another kind. */
export function decodeAccount(record: Uint8Array): Account | undefined {
  const view = new DataView(record.buffer, record.byteOffset, record.byteLength);
  if (view.getUint32(0, true) !== ACCOUNT_MAGIC) return undefined;
  if (view.getUint32(CRC_OFFSET, true) !== crc32(record.subarray(0, CRC_OFFSET))) return undefined;
  const flags = view.getUint16(14, true);
  return {
    sequence: view.getUint32(4, true),
    tankUl: view.getInt32(8, true),
    ambientHpa: view.getInt16(12, true),
    pumpStuckOn: (flags & FLAG_PUMP_STUCK_ON) !== 0,
    hasRun: (flags & FLAG_HAS_RUN) !== 0,
    bursts: view.getUint32(16, true),
    engineTicks: view.getUint32(20, true),
    faults: view.getUint16(24, true),
    refills: view.getUint16(26, true),
  };
}

/** A record as the device writes it. */
export function encodeAccount(account: Account): Uint8Array {
  const record = new Uint8Array(ACCOUNT_RECORD_BYTES);
  const view = new DataView(record.buffer);
  view.setUint32(0, ACCOUNT_MAGIC, true);
  view.setUint32(4, account.sequence, true);
  view.setInt32(8, account.tankUl, true);
  view.setInt16(12, account.ambientHpa, true);
  const stuck = account.pumpStuckOn ? FLAG_PUMP_STUCK_ON : 0;
  view.setUint16(14, stuck | (account.hasRun ? FLAG_HAS_RUN : 0), true);
  view.setUint32(16, account.bursts, true);
  view.setUint32(20, account.engineTicks, true);
  view.setUint16(24, account.faults, true);
  view.setUint16(26, account.refills, true);
  view.setUint32(CRC_OFFSET, crc32(record.subarray(0, CRC_OFFSET)), true);
  return record;
}

/** The newest record of the ring; undefined if there is none. */
export function newestAccount(ring: Uint8Array): Account | undefined {
  let newest: Account | undefined;
  for (let at = 0; at + ACCOUNT_RECORD_BYTES <= ring.length; at += ACCOUNT_RECORD_BYTES) {
    const account = decodeAccount(ring.subarray(at, at + ACCOUNT_RECORD_BYTES));
    if (account && account.sequence > (newest?.sequence ?? 0)) newest = account;
  }
  return newest;
}
