/**
 * What a controller says it carries, against a pack: SHA-256 of its image and bundle, its settings and
 * calibration, and the fingerprint that these make. The device makes the hashes, so it is what it says of itself.
 */
import { createHash } from 'node:crypto';
import { LIMITS } from '../../controller/limits.js';
import type { Pack } from '../pack/compose.js';
import { fingerprintOf, type Fingerprint } from '../pack/fingerprint.js';
import { BUNDLE, IMAGE } from '../pack/flash-map.js';
import type { SectorContent } from '../pack/sector.js';
import { hashFlash, readCarried, type Device } from './device.js';

export interface CarriedPack {
  /** SHA-256 of as many bytes as the pack has, as hexadecimal digits. */
  readonly image: string;
  readonly bundle: string;
  readonly content: SectorContent;
}

/** Asks for hashes and settings. Throws E-LINK-03 to -08. */
export async function readCarriedPack(device: Device, pack: Pack): Promise<CarriedPack> {
  return {
    image: await hashFlash(device, IMAGE.address, pack.image.length),
    bundle: await hashFlash(device, BUNDLE.address, pack.bundle.length),
    content: (await readCarried(device)).content,
  };
}

/** SHA-256 as hexadecimal digits. */
export function sha256Of(bytes: Uint8Array): string {
  return createHash('sha256').update(bytes).digest('hex');
}

/** The whole fingerprint, which takes the bytes of image and bundle: known only if they are the pack's. */
export function carriedFingerprint(told: CarriedPack, pack: Pack): Fingerprint | undefined {
  const isKnown = told.image === sha256Of(pack.image) && told.bundle === sha256Of(pack.bundle);
  if (!isKnown) return undefined;
  const { image, bundle } = pack;
  return fingerprintOf({ image, bundle, limits: LIMITS, ...told.content });
}
