/**
 * UF2, the file format that a chip's boot drive takes: blocks of 512 bytes, each with the address of
 * its payload, so that gaps in flash cost nothing. Format: github.com/microsoft/uf2, README; the
 * family is the RP2040's in uf2families.json there. Payloads are always 256 bytes, a page of flash, at
 * multiples of 256; the end of a region is filled up with erased bytes. Little-endian.
 */
import { ERASED, PAGE_BYTES } from './flash-map.js';

export const UF2_BLOCK_BYTES = 512;
export const UF2_MAGICS = { first: 0x0a324655, second: 0x9e5d5157, last: 0x0ab16f30 } as const;

/** The RP2040. */
export const UF2_FAMILY_RP2040 = 0xe48bff56;

/** The field behind the block count holds the family. */
const FLAG_FAMILY = 0x2000;

const PAYLOAD_OFFSET = 32;
const LAST_MAGIC_OFFSET = 508;

/** Bytes at an address. */
export interface Region {
  readonly address: number;
  readonly bytes: Uint8Array;
}

/** A file of UF2 blocks as it was read, or the first thing that is wrong with it. */
export type Uf2Reading =
  | { readonly ok: true; readonly family: number; readonly pages: readonly Region[] }
  | { readonly ok: false; readonly problem: string };

/** The UF2 file of some regions. Throws an Error if one does not begin at a page. */
export function encodeUf2(regions: readonly Region[], family = UF2_FAMILY_RP2040): Uint8Array {
  const pages = regions.flatMap(pagesOf);
  const file = new Uint8Array(pages.length * UF2_BLOCK_BYTES);
  pages.forEach(({ address, bytes }, index) => {
    const block = file.subarray(index * UF2_BLOCK_BYTES, (index + 1) * UF2_BLOCK_BYTES);
    const view = new DataView(block.buffer, block.byteOffset, UF2_BLOCK_BYTES);
    const { first, second, last } = UF2_MAGICS;
    const head = [first, second, FLAG_FAMILY, address, PAGE_BYTES, index, pages.length, family];
    head.forEach((value, at) => view.setUint32(4 * at, value, true));
    block.set(bytes, PAYLOAD_OFFSET);
    view.setUint32(LAST_MAGIC_OFFSET, last, true);
  });
  return file;
}

/** True if bytes begin as a UF2 file does. */
export function isUf2(bytes: Uint8Array): boolean {
  if (bytes.length < UF2_BLOCK_BYTES) return false;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  return (
    view.getUint32(0, true) === UF2_MAGICS.first && view.getUint32(4, true) === UF2_MAGICS.second
  );
}

/** Takes a UF2 file apart; every block must be whole and of one family. Never throws. */
export function decodeUf2(file: Uint8Array): Uf2Reading {
  const count = file.length / UF2_BLOCK_BYTES;
  if (count === 0 || !Number.isInteger(count)) {
    return bad(`its length is ${file.length}, not a multiple of ${UF2_BLOCK_BYTES}`);
  }
  const pages: Region[] = [];
  let family = 0;
  for (let index = 0; index < count; index++) {
    const block = file.subarray(index * UF2_BLOCK_BYTES, (index + 1) * UF2_BLOCK_BYTES);
    const view = new DataView(block.buffer, block.byteOffset, UF2_BLOCK_BYTES);
    const word = (at: number) => view.getUint32(at, true);
    const place = `block ${index}`;
    if (!isUf2(block) || word(LAST_MAGIC_OFFSET) !== UF2_MAGICS.last) {
      return bad(`${place} has not the marks of a UF2 block`);
    }
    if ((word(8) & FLAG_FAMILY) === 0) return bad(`${place} names no family of chips`);
    if (index === 0) family = word(28);
    if (word(28) !== family) return bad(`${place} is for another family of chips`);
    if (word(16) !== PAGE_BYTES) return bad(`${place} has ${word(16)} bytes, not ${PAGE_BYTES}`);
    if (word(20) !== index || word(24) !== count) {
      return bad(`${place} says that it is number ${word(20)} of ${word(24)}, not of ${count}`);
    }
    const bytes = block.slice(PAYLOAD_OFFSET, PAYLOAD_OFFSET + PAGE_BYTES);
    pages.push({ address: word(12), bytes });
  }
  return { ok: true, family, pages };
}

function bad(problem: string): Uf2Reading {
  return { ok: false, problem };
}

function pagesOf({ address, bytes }: Region): Region[] {
  if (address % PAGE_BYTES !== 0) throw new Error(`address ${address} is not that of a page`);
  const pages: Region[] = [];
  for (let at = 0; at < bytes.length; at += PAGE_BYTES) {
    const page = new Uint8Array(PAGE_BYTES).fill(ERASED);
    page.set(bytes.subarray(at, at + PAGE_BYTES));
    pages.push({ address: address + at, bytes: page });
  }
  return pages;
}
