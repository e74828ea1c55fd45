/**
 * A pack: engine image, core bundle, settings and calibration of one device, checked, with their
 * fingerprint. It becomes one UF2 file to flash, or the contents of flash for the emulated board.
 * What fails its check is never packed: it becomes a `Fault` instead.
 */
import { create } from '../../controller/core.js';
import { calibrationToFlat, layoutHash, settingsToFlat } from '../../controller/flat.js';
import { LIMITS } from '../../controller/limits.js';
import type { Settings } from '../../controller/settings.js';
import type { ReadCalibration } from '../calibration/read.js';
import { Fault } from '../fault.js';
import { BundleType, encodeBundle } from './bundle-header.js';
import { bundleProblem, imageProblem, packedProblem } from './check.js';
import { fingerprintOf, type Fingerprint } from './fingerprint.js';
import { BUNDLE, ERASED, FLASH, IMAGE, SETTINGS_SECTORS } from './flash-map.js';
import { encodeBothSectors, type SectorContent } from './sector.js';
import { encodeUf2, type Region } from './uf2.js';

/** What goes into a pack. Names are for sentences. */
export interface PackInputs {
  readonly image: Uint8Array;
  readonly imageName: string;
  /** JavaScript of the core, ES5: what is checked. */
  readonly code: Uint8Array;
  readonly codeName: string;
  /** The same, compiled for the image's engine: packed in place of the source where there is one. */
  readonly bytecode: Uint8Array | undefined;
  readonly settings: Settings;
  readonly calibration: Pick<ReadCalibration, 'calibration' | 'steps' | 'name'>;
}

export interface Pack {
  readonly image: Uint8Array;
  /** With its header. */
  readonly bundle: Uint8Array;
  readonly content: SectorContent;
  readonly fingerprint: Fingerprint;
}

/** A fresh pack's settings have this sequence number. */
const FIRST_SEQUENCE = 1;

/** Checks the parts and puts them together. Throws E-PACK-02, E-PACK-03 or E-PACK-04. */
export function composePack(inputs: PackInputs): Pack {
  const { image, code } = inputs;
  const { calibration, steps } = inputs.calibration;
  refuse('E-PACK-02', inputs.imageName, imageProblem(image));
  try {
    create(inputs.settings, calibration, LIMITS);
  } catch (error) {
    throw new Fault('E-PACK-04', `settings and calibration: ${(error as Error).message}`);
  }
  const content: SectorContent = {
    sequence: FIRST_SEQUENCE,
    layoutHash: layoutHash(),
    settings: settingsToFlat(inputs.settings),
    calibration: calibrationToFlat(calibration),
    steps,
  };
  const problem = bundleProblem(code, content.settings, content.calibration);
  refuse('E-PACK-03', inputs.codeName, problem);
  const packed = inputs.bytecode ?? code;
  refuse('E-PACK-03', inputs.codeName, packedProblem(packed, inputs.bytecode !== undefined));
  const type = inputs.bytecode === undefined ? BundleType.Source : BundleType.Bytecode;
  const bundle = encodeBundle({ type, layoutHash: content.layoutHash, code: packed });
  const fingerprint = fingerprintOf({ image, bundle, limits: LIMITS, ...content });
  return { image, bundle, content, fingerprint };
}

/** The parts with their addresses, in rising order. */
export function packRegions(pack: Pack): Region[] {
  return [
    { address: IMAGE.address, bytes: pack.image },
    { address: BUNDLE.address, bytes: pack.bundle },
    { address: SETTINGS_SECTORS.address, bytes: encodeBothSectors(pack.content) },
  ];
}

/** The file to flash. */
export function packUf2(pack: Pack): Uint8Array {
  return encodeUf2(packRegions(pack));
}

/** All of flash after the pack was flashed onto an erased chip. */
export function packFlash(pack: Pack): Uint8Array {
  const flash = new Uint8Array(FLASH.length).fill(ERASED);
  for (const { address, bytes } of packRegions(pack)) flash.set(bytes, address - FLASH.address);
  return flash;
}

function refuse(code: 'E-PACK-02' | 'E-PACK-03', name: string, problem: string): void {
  if (problem !== '') throw new Fault(code, `${name} cannot be packed: ${problem}`, { file: name });
}
