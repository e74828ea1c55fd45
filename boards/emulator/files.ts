/**
 * The files a board is made of: the built image (dist/board/pico: image.bin, symbols.json) and the
 * list of its pins (boards/pico/pins.json). It gives the content of flash from its first byte, with
 * bundle and settings laid over the image where they belong, each as bytes at an offset.
 */
import { existsSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { FLASH_BYTES } from './flash.js';
import type { BoardPins } from './pins.js';

export interface BoardFiles {
  /** Flash from its first byte; what is not given is erased. */
  readonly flash: Uint8Array;
  /** Addresses of the image's symbols. */
  readonly symbols: Readonly<Record<string, number>>;
  readonly pins: BoardPins;
}

/** Bytes that lie at an offset of flash. */
export interface FlashPart {
  readonly offset: number;
  readonly bytes: Uint8Array;
}

/** Flash with `parts` on it, later ones over earlier ones. */
export function composeFlash(parts: readonly FlashPart[]): Uint8Array {
  const flash = new Uint8Array(FLASH_BYTES).fill(0xff);
  for (const { offset, bytes } of parts) flash.set(bytes, offset);
  return flash;
}

/** Whether `root` (the project's folder) has a built image. */
export function hasImage(root: string): boolean {
  const folder = path.join(root, 'dist/board/pico');
  return (
    existsSync(path.join(folder, 'image.bin')) && existsSync(path.join(folder, 'symbols.json'))
  );
}

/** The built image as it was read, without bundle and settings. */
export interface LoadedFiles {
  readonly image: Uint8Array;
  readonly symbols: Readonly<Record<string, number>>;
  readonly pins: BoardPins;
}

/**
 * Reads image, symbols and pins from the project's folder `root`. Throws what reading a file throws:
 * ask `hasImage` first.
 */
export function loadBoardFiles(root: string): LoadedFiles {
  const folder = path.join(root, 'dist/board/pico');
  const json = (file: string): unknown => JSON.parse(readFileSync(file, 'utf8'));
  return {
    image: readFileSync(path.join(folder, 'image.bin')),
    symbols: json(path.join(folder, 'symbols.json')) as Record<string, number>,
    pins: json(path.join(root, 'boards/pico/pins.json')) as BoardPins,
  };
}
