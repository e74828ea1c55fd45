/**
 * The device's half of the link's codec, compiled for this computer: the same vectors as the host's half
 * (test/controller/link/vectors.json), the same bytes for the same frames, SHA-256 against the
 * examples of FIPS 180-4 and Node's, and fuzzed frames: 100,000 here, a million in the long tests.
 */
import { createHash } from 'node:crypto';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { encodeFrame } from '../../controller/link/frame.js';
import { bytesOf, VECTORS } from '../controller/link/vectors.js';
import { compileForHost, HAS_GCC, NEEDS_GCC, type HostProgram } from './c/build.js';

const IS_LONG = process.env['SMIRR_LONG'] === '1';
const FUZZED = IS_LONG ? 1_000_000 : 100_000;

const hex = (bytes: readonly number[]) => Buffer.from(bytes).toString('hex');

describe.skipIf(!HAS_GCC)(`the codec in C${NEEDS_GCC}`, () => {
  let program: HostProgram;
  beforeAll(() => {
    program = compileForHost('frame-host.c', ['frame.c', 'sha256.c']);
  });
  afterAll(() => program.remove());

  const ask = (lines: readonly string[]) =>
    program
      .run([], lines.map((line) => `${line}\n`).join(''))
      .trimEnd()
      .split('\n');

  test('published COBS vectors, both ways', () => {
    const { cobs, badCobs } = VECTORS;
    const lines = cobs.flatMap(({ plain, encoded }) => [
      `e ${hex(bytesOf(plain))}`,
      `d ${hex(bytesOf(encoded))}`,
    ]);
    const answers = program.run([], lines.map((line) => `${line}\n`).join('')).split('\n');
    const wanted = cobs.flatMap(({ plain, encoded }) => [
      hex(bytesOf(encoded)),
      hex(bytesOf(plain)),
    ]);
    expect(answers.slice(0, -1)).toEqual(wanted);
    expect(ask(badCobs.map((text) => `d ${hex(bytesOf(text))}`))).toEqual(badCobs.map(() => 'bad'));
  });

  test('the check values of both CRCs', () => {
    const { text, ibm3740, arc } = VECTORS.crc;
    expect(ask([`c ${Buffer.from(text).toString('hex')}`])).toEqual([`${ibm3740} ${arc}`]);
  });

  test('the same frames as the host makes, and it takes them', () => {
    const frames = VECTORS.frames.map((frame) => ({ ...frame, payload: bytesOf(frame.payload) }));
    const random = fc.sample(
      fc.record({
        type: fc.nat(255),
        sequence: fc.nat(255),
        payload: fc.array(fc.nat(255), { maxLength: 240 }),
      }),
      200,
    );
    const all = [...frames, ...random];
    const answers = ask(
      all.flatMap(({ type, sequence, payload }) => [
        `f ${hex([type, sequence, ...payload])}`,
        `r ${hex(encodeFrame(type, sequence, payload))}`,
      ]),
    );
    const wanted = all.flatMap(({ type, sequence, payload }) => [
      hex(encodeFrame(type, sequence, payload)),
      `1:${type}:${sequence}:${hex(payload)} `.trimEnd(),
    ]);
    expect(answers.map((line) => line.trimEnd())).toEqual(wanted);
  });

  test('SHA-256: the examples of FIPS 180-4, and every length up to 200 as Node has it', () => {
    // FIPS 180-4's example documents (csrc.nist.gov, SHA256.pdf), from memory.
    expect(ask(['s 616263'])).toEqual([
      'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad',
    ]);
    const texts = Array.from({ length: 201 }, (_, length) => Buffer.alloc(length, length));
    const wanted = texts.map((text) => createHash('sha256').update(text).digest('hex'));
    expect(ask(texts.map((text) => `s ${text.toString('hex')}`))).toEqual(wanted);
  });

  test(`${FUZZED} damaged frames: none is taken that nobody sent, and the next good one always is`, () => {
    const seed = IS_LONG ? Date.now() % 2 ** 31 : 1999;
    const answer = program
      .run(['fuzz', String(seed), String(FUZZED)])
      .trim()
      .split(' ')
      .map(Number);
    const [count, wrong, lost, whole] = answer;
    expect({ seed, count, wrong, lost }).toEqual({ seed, count: FUZZED, wrong: 0, lost: 0 });
    // Some damage leaves the frame whole; most does not, or nothing was tried.
    expect(whole).toBeLessThan(FUZZED / 20);
  }, 600_000);
});
