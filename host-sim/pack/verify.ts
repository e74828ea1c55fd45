/**
 * Compares what was read out of a chip's flash with a pack, part by part. Image and bundle must be the
 * same byte for byte; of the two settings sectors the one that the device runs with counts, whatever
 * its sequence number; account and run log are not looked at. Bytes from address 0x10000000 on, or a
 * UF2 file.
 */
import { flatToCalibration, flatToSettings } from '../../controller/flat.js';
import { LIMITS } from '../../controller/limits.js';
import { SETTINGS } from '../../controller/settings.js';
import { Fault } from '../fault.js';
import { formatValue } from '../settings/format.js';
import { BUNDLE_HEAD_BYTES, decodeBundle } from './bundle-header.js';
import type { Pack } from './compose.js';
import { fingerprintOf, type Fingerprint } from './fingerprint.js';
import { BUNDLE, ERASED, FLASH, IMAGE, SETTINGS_SECTORS, type FlashRegion } from './flash-map.js';
import { STEPS, winningSector, type SectorContent } from './sector.js';
import { decodeUf2, isUf2 } from './uf2.js';

/** How one part compares. */
export interface PartResult {
  readonly part: 'image' | 'bundle' | 'settings' | 'calibration';
  readonly same: boolean;
  /** What differs, a sentence each; empty if it is the same. */
  readonly differences: readonly string[];
}

export interface VerifyResult {
  readonly parts: readonly PartResult[];
  /** Sequence number of the settings the device runs with; undefined if neither copy is valid. */
  readonly sequence: number | undefined;
  /** Fingerprint of what is in flash; undefined where no settings are valid. */
  readonly fingerprint: Fingerprint | undefined;
}

/** A read-out must reach to the end of the settings. */
const READ_BYTES_MIN = SETTINGS_SECTORS.address + SETTINGS_SECTORS.length - FLASH.address;

/** More settings than this are only counted. */
const NAMED_MAX = 5;

/**
 * The contents of flash from what was read out; what a UF2 file leaves out counts as erased.
 * Throws E-PACK-05.
 */
export function flashOf(bytes: Uint8Array, name: string): Uint8Array {
  const fault = (sentence: string) => new Fault('E-PACK-05', `${name} ${sentence}`, { file: name });
  if (!isUf2(bytes)) {
    if (bytes.length >= READ_BYTES_MIN) return bytes;
    throw fault(
      `has ${bytes.length} bytes; a read-out from address 0x10000000 needs ${READ_BYTES_MIN} at least, to the end of the settings`,
    );
  }
  const reading = decodeUf2(bytes);
  if (!reading.ok) throw fault(`is a damaged UF2 file: ${reading.problem}`);
  const flash = new Uint8Array(FLASH.length).fill(ERASED);
  for (const page of reading.pages) {
    const at = page.address - FLASH.address;
    if (at < 0 || at + page.bytes.length > flash.length) {
      throw fault(`holds address 0x${page.address.toString(16)}, which is not in flash`);
    }
    flash.set(page.bytes, at);
  }
  return flash;
}

/** Compares flash, as `flashOf` gives it, with a pack. */
export function verifyFlash(flash: Uint8Array, pack: Pack): VerifyResult {
  const image = part(flash, IMAGE, pack.image.length);
  const winner = winningSector(regionOf(flash, SETTINGS_SECTORS), pack.content.layoutHash);
  const parts: PartResult[] = [
    result('image', byteDifferences(image, pack.image, IMAGE)),
    result('bundle', byteDifferences(part(flash, BUNDLE, pack.bundle.length), pack.bundle, BUNDLE)),
    result('settings', winner ? settingDifferences(winner, pack.content) : [NO_SETTINGS]),
    result('calibration', winner ? calibrationDifferences(winner, pack.content) : [NO_SETTINGS]),
  ];
  return {
    parts,
    sequence: winner?.sequence,
    fingerprint:
      winner && fingerprintOf({ image, bundle: bundleIn(flash, pack), limits: LIMITS, ...winner }),
  };
}

const NO_SETTINGS = 'neither copy in flash is valid for this bundle';

function result(name: PartResult['part'], differences: readonly string[]): PartResult {
  return { part: name, same: differences.length === 0, differences };
}

function part(flash: Uint8Array, { address }: FlashRegion, length: number): Uint8Array {
  const at = address - FLASH.address;
  return flash.subarray(at, at + length);
}

function regionOf(flash: Uint8Array, region: FlashRegion): Uint8Array {
  return part(flash, region, region.length);
}

/** The bundle in flash at the length its header says; at the pack's length if it is damaged. */
function bundleIn(flash: Uint8Array, pack: Pack): Uint8Array {
  const region = regionOf(flash, BUNDLE);
  const reading = decodeBundle(region);
  if (!reading.ok) return region.subarray(0, pack.bundle.length);
  return region.subarray(0, BUNDLE_HEAD_BYTES + reading.content.code.length);
}

function byteDifferences(
  found: Uint8Array,
  packed: Uint8Array,
  { address }: FlashRegion,
): readonly string[] {
  let count = 0;
  let first = -1;
  for (let index = 0; index < packed.length; index++) {
    if (found[index] === packed[index]) continue;
    count += 1;
    if (first < 0) first = index;
  }
  if (count === 0) return [];
  const place = `0x${(address + first).toString(16)}`;
  const bytes = `${hexByte(found[first])} there, ${hexByte(packed[first])} in the pack`;
  return [`${count} of ${packed.length} bytes differ, the first at ${place}: ${bytes}`];
}

function hexByte(value: number): string {
  return `0x${value.toString(16).padStart(2, '0')}`;
}

/** Settings that differ, a sentence each. */
export function settingDifferences(found: SectorContent, packed: SectorContent): readonly string[] {
  const [there, here] = [flatToSettings(found.settings), flatToSettings(packed.settings)];
  if (!there || !here) return [`${found.settings.length} settings, not ${packed.settings.length}`];
  const all = SETTINGS.filter((row) => there[row.field] !== here[row.field]).map((row) => {
    const [is, was] = [formatValue(row, there[row.field]), formatValue(row, here[row.field])];
    return `${row.name} is ${is} there, ${was} in the pack`;
  });
  if (all.length <= NAMED_MAX) return all;
  return [...all.slice(0, NAMED_MAX), `${all.length - NAMED_MAX} further settings differ`];
}

/** Parts of the calibration that differ, a sentence each. */
export function calibrationDifferences(
  found: SectorContent,
  packed: SectorContent,
): readonly string[] {
  const [there, here] = [
    flatToCalibration(found.calibration),
    flatToCalibration(packed.calibration),
  ];
  if (!there || !here) return ['the calibration in flash is none that can be read'];
  const differences = (Object.keys(here) as (keyof typeof here)[])
    .filter((name) => JSON.stringify(there[name]) !== JSON.stringify(here[name]))
    .map((name) => `${name} is another`);
  STEPS.forEach((name, index) => {
    const [is, was] = [found.steps[index], packed.steps[index]];
    if (is !== was) differences.push(`step of ${name} is ${is} there, ${was} in the pack`);
  });
  return differences;
}
