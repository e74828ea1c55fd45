/**
 * Frames of the serial link: version, type, sequence and length (a byte each), up to 240 bytes of
 * payload, then CRC-16/IBM-3740 and CRC-16/ARC over all before them, low byte first. On the line a
 * frame is encoded by COBS between two zeros, so that one that is damaged costs no other. What fits
 * no frame, lines of text among it, is left out. boards/pico/frame.c is the device's half.
 */
import { cobsDecode, cobsEncode } from './cobs.js';
import { crc16Arc, crc16Ibm3740 } from './crc16.js';

export const FRAME_VERSION = 1;
export const PAYLOAD_BYTES_MAX = 240;

const HEAD_BYTES = 4;
const CHECK_BYTES = 4;
/** Encoded: never over 254 bytes, so that COBS adds one. */
export const ENCODED_BYTES_MAX = HEAD_BYTES + PAYLOAD_BYTES_MAX + CHECK_BYTES + 1;

export interface Frame {
  readonly version: number;
  readonly type: number;
  /** Counts the sender's requests; an answer has that of its request. */
  readonly sequence: number;
  readonly payload: readonly number[];
}

/** The bytes for the line, with both zeros. The payload must have at most 240 bytes. */
export function encodeFrame(type: number, sequence: number, payload: readonly number[]): number[] {
  const plain: number[] = [FRAME_VERSION, type, sequence & 255, payload.length];
  for (let at = 0; at < payload.length; at++) plain.push(payload[at]);
  const count = plain.length;
  const first = crc16Ibm3740(plain, count);
  const second = crc16Arc(plain, count);
  plain.push(first & 255, first >> 8, second & 255, second >> 8);
  const line: number[] = [0];
  const encoded = cobsEncode(plain);
  for (let at = 0; at < encoded.length; at++) line.push(encoded[at]);
  line.push(0);
  return line;
}

/** The frame between two zeros, or undefined if it is none, of whatever version. */
export function decodeFrame(encoded: readonly number[]): Frame | undefined {
  if (encoded.length > ENCODED_BYTES_MAX) return undefined;
  const plain = cobsDecode(encoded);
  if (plain === undefined || plain.length < HEAD_BYTES + CHECK_BYTES) return undefined;
  const count = plain.length - CHECK_BYTES;
  if (plain[3] !== count - HEAD_BYTES) return undefined;
  if ((plain[count] | (plain[count + 1] << 8)) !== crc16Ibm3740(plain, count)) return undefined;
  if ((plain[count + 2] | (plain[count + 3] << 8)) !== crc16Arc(plain, count)) return undefined;
  return {
    version: plain[0],
    type: plain[1],
    sequence: plain[2],
    payload: plain.slice(HEAD_BYTES, count),
  };
}

/** What has arrived since the last zero. */
export interface Receiver {
  bytes: number[];
  /** More came than a frame has: everything up to the next zero is left out. */
  isTooLong: boolean;
}

/** A receiver that has heard nothing. */
export function makeReceiver(): Receiver {
  return { bytes: [], isTooLong: false };
}

/** Takes one byte; gives the frame that it ends, or undefined. */
export function receiveByte(receiver: Receiver, byte: number): Frame | undefined {
  if (byte !== 0) {
    if (receiver.bytes.length < ENCODED_BYTES_MAX) receiver.bytes.push(byte);
    else receiver.isTooLong = true;
    return undefined;
  }
  const { bytes, isTooLong } = receiver;
  receiver.bytes = [];
  receiver.isTooLong = false;
  return isTooLong || bytes.length === 0 ? undefined : decodeFrame(bytes);
}
