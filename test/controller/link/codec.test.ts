/**
 * The link's codec against published vectors (their sources stand in vectors.json), its round trip, and
 * that a receiver takes nothing but whole frames and always the next good one.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cobsDecode, cobsEncode } from '../../../controller/link/cobs.js';
import { crc16Arc, crc16Ibm3740 } from '../../../controller/link/crc16.js';
import {
  decodeFrame,
  encodeFrame,
  ENCODED_BYTES_MAX,
  makeReceiver,
  PAYLOAD_BYTES_MAX,
  receiveByte,
  type Frame,
  type Receiver,
} from '../../../controller/link/frame.js';
import { bytesOf, VECTORS } from './vectors.js';

const bytes = (maxLength: number) => fc.array(fc.nat(255), { maxLength });

function receiveAll(receiver: Receiver, line: readonly number[]): Frame[] {
  const frames: Frame[] = [];
  for (const byte of line) {
    const frame = receiveByte(receiver, byte);
    if (frame !== undefined) frames.push(frame);
  }
  return frames;
}

describe('COBS', () => {
  it.each(VECTORS.cobs)('$plain becomes $encoded and back', ({ plain, encoded }) => {
    expect(cobsEncode(bytesOf(plain))).toEqual(bytesOf(encoded));
    expect(cobsDecode(bytesOf(encoded))).toEqual(bytesOf(plain));
  });

  it.each(VECTORS.badCobs)('"%s" is refused', (text) => {
    expect(cobsDecode(bytesOf(text))).toBeUndefined();
  });

  it('any bytes come back, without a zero between, with at most one byte more for each 254', () => {
    fc.assert(
      fc.property(bytes(1000), (plain) => {
        const encoded = cobsEncode(plain);
        expect(encoded).not.toContain(0);
        expect(encoded.length).toBeLessThanOrEqual(
          plain.length + Math.max(1, Math.ceil(plain.length / 254)),
        );
        expect(cobsDecode(encoded)).toEqual(plain);
      }),
    );
  });
});

describe('CRC', () => {
  const text = Array.from(Buffer.from(VECTORS.crc.text));

  it('the check values of the catalogue', () => {
    expect(crc16Ibm3740(text, text.length)).toBe(parseInt(VECTORS.crc.ibm3740, 16));
    expect(crc16Arc(text, text.length)).toBe(parseInt(VECTORS.crc.arc, 16));
  });
});

describe('frames', () => {
  it('any frame comes back, and is at most 251 bytes on the line', () => {
    fc.assert(
      fc.property(fc.nat(255), fc.nat(255), bytes(PAYLOAD_BYTES_MAX), (type, sequence, payload) => {
        const line = encodeFrame(type, sequence, payload);
        expect(line.length).toBeLessThanOrEqual(ENCODED_BYTES_MAX + 2);
        const frames = receiveAll(makeReceiver(), line);
        expect(frames).toEqual([{ version: 1, type, sequence, payload }]);
      }),
    );
  });

  it('text before, between and after frames is left out', () => {
    const receiver = makeReceiver();
    const text = Array.from(Buffer.from('boot=power-on reason=0 \r\n'));
    const line = [...text, ...encodeFrame(1, 9, [1, 0, 2]), ...text, ...encodeFrame(2, 10, [])];
    expect(receiveAll(receiver, line).map(({ sequence }) => sequence)).toEqual([9, 10]);
  });

  it('more than a frame holds is left out up to the next zero', () => {
    const receiver = makeReceiver();
    const long = Array.from({ length: 3000 }, () => 7);
    expect(receiveAll(receiver, [0, ...long, 0])).toEqual([]);
    expect(receiveAll(receiver, encodeFrame(1, 2, [3]))).toHaveLength(1);
  });

  it('a frame is refused for its length, either CRC, or what is missing', () => {
    const line = encodeFrame(1, 2, [3, 4, 5]);
    const plain = cobsDecode(line.slice(1, -1)) ?? [];
    for (let at = 0; at < plain.length; at++) {
      const other = plain.map((byte, index) => (index === at ? byte ^ 0x10 : byte));
      expect(decodeFrame(cobsEncode(other))).toBeUndefined();
    }
    for (let count = 0; count < plain.length; count++) {
      expect(decodeFrame(cobsEncode(plain.slice(0, count)))).toBeUndefined();
    }
    expect(decodeFrame(Array.from({ length: ENCODED_BYTES_MAX + 1 }, () => 1))).toBeUndefined();
    expect(decodeFrame([5, 1])).toBeUndefined();
  });

  it('the longest frame is one, a byte more of payload is none', () => {
    const payload = Array.from({ length: PAYLOAD_BYTES_MAX }, (_, index) => index & 255);
    expect(decodeFrame(encodeFrame(1, 2, payload).slice(1, -1))?.payload).toEqual(payload);
    expect(decodeFrame(encodeFrame(1, 2, [...payload, 1]).slice(1, -1))).toBeUndefined();
  });

  it('a length that is not that of the payload is refused, whatever the CRCs say', () => {
    const sealed = (head: number[]) => {
      const [first, second] = [crc16Ibm3740(head, head.length), crc16Arc(head, head.length)];
      return cobsEncode([...head, first & 255, first >> 8, second & 255, second >> 8]);
    };
    expect(decodeFrame(sealed([1, 7, 9, 2, 5, 6]))?.payload).toEqual([5, 6]);
    expect(decodeFrame(sealed([1, 7, 9, 1, 5, 6]))).toBeUndefined();
    expect(decodeFrame(sealed([1, 7, 9, 3, 5, 6]))).toBeUndefined();
  });

  it('a receiver that has heard nothing takes a frame without its first zero', () => {
    expect(receiveAll(makeReceiver(), encodeFrame(1, 2, [3]).slice(1))).toHaveLength(1);
  });

  it('a frame with more behind it is none, and no more is kept than a frame has', () => {
    const longest = encodeFrame(
      1,
      2,
      Array.from({ length: PAYLOAD_BYTES_MAX }, () => 0),
    );
    const receiver = makeReceiver();
    const line = [...longest.slice(0, -1), 7, 7, 0];
    for (const byte of line) {
      expect(receiveByte(receiver, byte)).toBeUndefined();
      expect(receiver.bytes.length).toBeLessThanOrEqual(ENCODED_BYTES_MAX);
    }
    expect(receiveAll(receiver, longest)).toHaveLength(1);
  });

  it('a zero within a run is no COBS', () => {
    expect(cobsDecode([4, 1, 0, 2])).toBeUndefined();
    expect(cobsDecode([4, 1, 3, 2])).toEqual([1, 3, 2]);
  });
});
