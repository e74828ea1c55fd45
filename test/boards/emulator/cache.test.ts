/**
 * The model of the flash cache against hits and misses counted by hand, with the geometry that the
 * RP2040 datasheet gives in 2.6.3: 16 KB, two ways, lines of eight bytes, so 1,024 sets of two lines.
 */
import { expect, test } from 'vitest';
import { CacheModel } from '../../../boards/emulator/cache.js';

const FLASH = 0x10000000;
const WAY_BYTES = 8 * 1024;

function countsOf(addresses: readonly number[]): { hits: number; misses: number } {
  const cache = new CacheModel();
  for (const address of addresses) cache.touch(FLASH + address);
  return { hits: cache.hits, misses: cache.misses };
}

test('eight bytes are one line: the first read misses, the next seven hit', () => {
  expect(countsOf([0, 1, 2, 3, 4, 5, 6, 7])).toEqual({ hits: 7, misses: 1 });
  expect(countsOf([7, 8])).toEqual({ hits: 0, misses: 2 });
});

test('two lines of one set stay; a third throws out the one that was used least lately', () => {
  const [a, b, c] = [0, WAY_BYTES, 2 * WAY_BYTES];
  expect(countsOf([a, b, a, b])).toEqual({ hits: 2, misses: 2 });
  // a was used last, so c takes the place of b.
  expect(countsOf([a, b, a, c, a, b])).toEqual({ hits: 2, misses: 4 });
});

test('16 KB stay whole; 8 bytes more do not', () => {
  const whole = Array.from({ length: 2048 }, (_, line) => line * 8);
  expect(countsOf([...whole, ...whole])).toEqual({ hits: 2048, misses: 2048 });
  const more = [...whole, 2048 * 8];
  const { hits, misses } = countsOf([...more, ...more]);
  expect(hits + misses).toBe(2 * 2049);
  // The set that has three lines misses each of them both times.
  expect(misses).toBe(2049 + 3);
});

test('a flush forgets every line and keeps the counts', () => {
  const cache = new CacheModel();
  cache.touch(FLASH);
  cache.flush();
  cache.touch(FLASH);
  expect(cache).toMatchObject({ hits: 0, misses: 2 });
});
