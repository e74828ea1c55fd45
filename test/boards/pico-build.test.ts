/**
 * What the image is built from: the pins of pins.json, boot2's checksum, the map of flash; and a build
 * whose tools are missing, which ends with one sentence and writes nothing.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { crc32Mpeg2 } from '../../boards/pico/build.mjs';
import { pinsHeader, type Pins } from '../../boards/pico/make-pins.mjs';
import { calibrationForReadings } from '../../controller/calibration.js';
import { calibrationToFlat } from '../../controller/flat.js';
import { LIMITS } from '../../controller/limits.js';
import { SETTINGS } from '../../controller/settings.js';
import { ACCOUNT, BUNDLE, FLASH, IMAGE, SETTINGS_SECTORS } from '../../host-sim/pack/flash-map.js';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const readText = (name: string): string =>
  readFileSync(path.join(ROOT, 'boards/pico', name), 'utf8');
const readPins = (): Pins => JSON.parse(readText('pins.json')) as Pins;

describe('pins.json', () => {
  it('names the outputs that are driven low before anything else: pump and enable among them', () => {
    const mask = Number(/OUTPUTS_SAFE_LOW (0x[0-9a-f]+)u/.exec(pinsHeader(readPins()))?.[1]);
    const low = readPins().pins.filter((pin) => (mask & (1 << pin.gpio)) !== 0);
    expect(low.map((pin) => pin.name)).toEqual([
      ...['select0', 'select1', 'select2', 'enable', 'pump', 'lamp'],
    ]);
  });

  it('is refused with a pin that is there twice', () => {
    const board = readPins();
    board.pins.push({ ...board.pins[0], name: 'other' });
    expect(() => pinsHeader(board)).toThrow('other (gpio 0) is there twice');
  });

  it('is refused with an output whose safe level is high', () => {
    const board = readPins();
    for (const pin of board.pins) if (pin.name === 'pump') pin.safe = 'high';
    expect(() => pinsHeader(board)).toThrow('pump has the safe level high');
  });

  it('has a pull-down on each output, so that a pin that floats stays at its safe level', () => {
    const outputs = readPins().pins.filter(
      (pin) => pin.direction === 'out' && pin.function === 'sio',
    );
    expect(outputs.map((pin) => pin.pull)).toEqual(outputs.map(() => 'down'));
  });
});

it('boot2: the CRC is CRC-32/MPEG-2, by its published check value', () => {
  // Check value of "123456789" in the public catalogue of parametrised CRCs (from memory).
  expect(crc32Mpeg2(new TextEncoder().encode('123456789'))).toBe(0x0376e6e7);
});

it('the C code has the flash map of the pack', () => {
  const header = readText('board.h') + readText('keep.h');
  const value = (name: string): number =>
    Number(new RegExp(`#define ${name} (0x[0-9a-f]+)u`).exec(header)?.[1]);
  expect(value('FLASH_BASE')).toBe(FLASH.address);
  expect(value('BUNDLE_ADDRESS')).toBe(BUNDLE.address);
  expect(value('BUNDLE_BYTES')).toBe(BUNDLE.length);
  expect(value('SETTINGS_ADDRESS')).toBe(SETTINGS_SECTORS.address);
  expect(value('ACCOUNT_ADDRESS')).toBe(ACCOUNT.address);
  expect(readText('image.ld')).toContain(`LENGTH = ${IMAGE.length / 1024}K - 256`);
});

it('the C code knows where the numbers for the shortest pulse periods stand', () => {
  const source = readText('inputs.c');
  const value = (name: string): number =>
    Number(new RegExp(`#define ${name} (\\d+)`).exec(source)?.[1]);
  expect(SETTINGS[value('SETTING_RPM_MAX')]?.field).toBe('rpmMaxRpm');
  expect(value('SPEED_DKMH_MAX')).toBe(LIMITS.speedDkmhMax);
  const flat = calibrationToFlat({
    ...calibrationForReadings(0),
    pulsesPerTwoRevolutions: 11,
    speedPulsesPerHectometre: 777,
  });
  expect(flat[value('CALIBRATION_PULSES')]).toBe(11);
  expect(flat[flat.length - value('CALIBRATION_SPEED_FROM_END')]).toBe(777);
});

it('the C code knows where the expected feedback stands', () => {
  const at = Number(/#define CALIBRATION_FEEDBACK (\d+)/u.exec(readText('inject.c'))?.[1]);
  const feedbackExpected = [2, 0, 1, 2];
  const flat = calibrationToFlat({ ...calibrationForReadings(0), feedbackExpected });
  expect(flat.slice(at, at + 4)).toEqual(feedbackExpected);
});

it('a build that lacks its tools and cannot install them ends with code 7 and one sentence', () => {
  const folder = mkdtempSync(path.join(os.tmpdir(), 'smirr-build-'));
  const script = path.join(ROOT, 'boards/pico/build.mjs');
  // A search path without any program stands for a machine without compiler and package manager.
  const result = spawnSync(process.execPath, [script, folder, folder], {
    encoding: 'utf8',
    env: { PATH: folder },
  });
  rmSync(folder, { recursive: true });
  expect(result.status).toBe(7);
  expect(result.stderr.trim().split('\n')).toEqual([
    'smirr: the cross compiler is missing, and there is no apt-get here to install it',
  ]);
});
