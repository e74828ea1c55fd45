/**
 * What a pack's parts must pass before they are packed. The image: what the chip's boot ROM and its
 * core ask of the first bytes of flash. The bundle: that it loads, takes these very settings and this
 * calibration as the device will, and ticks. A problem is given in words; nothing throws.
 */
import { createContext, Script } from 'node:vm';
import { BUNDLE_LENGTH_MAX } from './bundle-header.js';
import { crc32Mpeg2 } from './crc.js';
import { BOOT2_BYTES, IMAGE } from './flash-map.js';

/** RAM of the RP2040 (datasheet, section 2.2: SRAM from 0x20000000, 264 KB). */
const RAM = { address: 0x20000000, length: 264 * 1024 };

/** What is wrong with an engine image; an empty string if nothing is. */
export function imageProblem(image: Uint8Array): string {
  if (image.length < BOOT2_BYTES + 8) return `it has ${image.length} bytes, too few for an image`;
  if (image.length > IMAGE.length) {
    return `it has ${image.length} bytes; at most ${IMAGE.length} fit`;
  }
  const view = new DataView(image.buffer, image.byteOffset, image.byteLength);
  // Datasheet, section 2.8.1.3.1: the boot ROM runs no second stage whose checksum is wrong.
  const crc = crc32Mpeg2(image.subarray(0, BOOT2_BYTES - 4));
  if (view.getUint32(BOOT2_BYTES - 4, true) !== crc) {
    return 'the CRC-32/MPEG-2 of its first 252 bytes does not fit';
  }
  const stack = view.getUint32(BOOT2_BYTES, true);
  if (stack <= RAM.address || stack > RAM.address + RAM.length) {
    return `its stack begins at ${hex(stack)}, which is not in RAM`;
  }
  const entry = view.getUint32(BOOT2_BYTES + 4, true);
  const isInImage = entry > IMAGE.address && entry < IMAGE.address + image.length;
  if (isInImage && (entry & 1) === 1) return '';
  return `it is entered at ${hex(entry)}, which is no Thumb code of the image`;
}

/** What `smirr` of a bundle must have; more is not asked here. */
interface Bundle {
  readonly set: (part: number, index: number, value: number) => void;
  readonly start: (settingsCount: number, calibrationCount: number) => number;
  readonly tick: (nowMs: number, fresh: number) => number;
}

/** A bundle that takes longer to load has lost its way. */
const TIMEOUT_MS = 2000;

/** What is wrong with a bundle and these numbers; an empty string if nothing is. */
export function bundleProblem(
  code: Uint8Array,
  settings: readonly number[],
  calibration: readonly number[],
): string {
  try {
    const context = createContext({});
    const text = Buffer.from(code).toString('utf8');
    new Script(text, { filename: 'bundle' }).runInContext(context, { timeout: TIMEOUT_MS });
    const bundle = (context as { smirr?: Bundle }).smirr;
    if (bundle === undefined) return 'it sets no object smirr';
    settings.forEach((value, index) => bundle.set(0, index, value));
    calibration.forEach((value, index) => bundle.set(1, index, value));
    if (bundle.start(settings.length, calibration.length) !== 0) {
      return 'its core refuses these settings or this calibration';
    }
    return Number.isInteger(bundle.tick(20, 0)) ? '' : 'its first tick gives no number';
  } catch (error) {
    return `it threw (${String(error)})`;
  }
}

/** The engine's first byte of a compiled function (Duktape 2.7, duk_api_bytecode.c). */
const BYTECODE_MARK = 0xbf;

/** What is wrong with what would lie in flash; an empty string if nothing is. */
export function packedProblem(packed: Uint8Array, isBytecode: boolean): string {
  if (packed.length > BUNDLE_LENGTH_MAX) {
    return `it has ${packed.length} bytes; at most ${BUNDLE_LENGTH_MAX} fit`;
  }
  return isBytecode && packed[0] !== BYTECODE_MARK ? 'its bytecode is not that of the engine' : '';
}

function hex(value: number): string {
  return `0x${value.toString(16).padStart(8, '0')}`;
}
