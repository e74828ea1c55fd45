/**
 * Parts of a pack for tests that need no compiler: an image that is nothing but what the boot ROM looks
 * at, and a bundle that is nothing but its interface.
 */
import { createHash } from 'node:crypto';
import { existsSync, readFileSync } from 'node:fs';
import { initialSettings } from '../../../controller/settings-check.js';
import { parseCalibration } from '../../../host-sim/calibration/read.js';
import type { PackInputs } from '../../../host-sim/pack/compose.js';
import { crc32Mpeg2 } from '../../../host-sim/pack/crc.js';
import { packagePath } from '../../../host-sim/package-folder.js';

/** An image of `length` bytes that passes its check. */
export function plainImage(length = 1000): Uint8Array {
  const image = new Uint8Array(length).map((_, index) => index % 251);
  const view = new DataView(image.buffer);
  view.setUint32(252, crc32Mpeg2(image.subarray(0, 252)), true);
  view.setUint32(256, 0x20042000, true);
  view.setUint32(260, 0x10000201, true);
  return image;
}

/** ES5 that answers as a bundle does; `start` and `tick` are the bodies of these functions. */
export function plainBundle({ start = 'return 0;', tick = 'return 0;' } = {}): Uint8Array {
  const text = `var smirr = { set: function (part, index, value) {},
    start: function (settings, calibration) { ${start} },
    tick: function (nowMs, fresh) { ${tick} } };`;
  return Buffer.from(text, 'utf8');
}

/** The typical calibration that is shipped with the board. */
export const TYPICAL_TEXT = readFileSync(
  new URL('../../../boards/pico/calibration.yaml', import.meta.url),
  'utf8',
);

/** Everything for a pack; give what is to be otherwise. */
export function packInputs(changes: Partial<PackInputs> = {}): PackInputs {
  return {
    image: plainImage(),
    imageName: 'image.bin',
    code: plainBundle(),
    codeName: 'core.js',
    bytecode: undefined,
    settings: initialSettings(),
    calibration: parseCalibration(TYPICAL_TEXT, 'calibration.yaml'),
    ...changes,
  };
}

/** Whether there is a built image of this very core; where not, `npm run board:build` makes one. */
export function hasBuiltImage(): boolean {
  const facts = packagePath('dist/board/pico/build.json');
  const core = packagePath('dist/board/core.es5.js');
  if (!existsSync(facts) || !existsSync(core)) return false;
  const { coreSha256 } = JSON.parse(readFileSync(facts, 'utf8')) as { coreSha256?: string };
  return coreSha256 === createHash('sha256').update(readFileSync(core)).digest('hex');
}
