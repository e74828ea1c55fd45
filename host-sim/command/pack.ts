/**
 * `smirr pack --board BOARD [--settings FILE] [--calibration FILE] -o OUT.uf2`: engine image, core
 * bundle, settings and calibration as one file to flash, with sizes, fingerprint and cautions. Without
 * `--out` everything is checked and nothing written. `--verify READBACK` compares what was read out of
 * a chip with that pack instead: exit code 1 if it differs.
 */
import type { Argv } from 'yargs';
import { BOARD_NAMES, type BoardName } from '../calibration/boards.js';
import { Fault } from '../fault.js';
import { checkInputOnce, readBytes, writeWhole } from '../files.js';
import { finerThanSensor } from '../front-end/budget.js';
import { CAUTIONS } from '../pack/cautions.js';
import { packUf2 } from '../pack/compose.js';
import type { Fingerprint } from '../pack/fingerprint.js';
import { BUNDLE, IMAGE } from '../pack/flash-map.js';
import { loadPack, type LoadedPack } from '../pack/load.js';
import { flashOf, verifyFlash, type PartResult, type VerifyResult } from '../pack/verify.js';
import { UF2_BLOCK_BYTES } from '../pack/uf2.js';
import { namedSettings } from '../settings/named.js';
import { andList, fold } from '../shown.js';
import type { Terminal } from '../terminal.js';
import type { Example } from './command.js';

const LINE_LENGTH_MAX = 90;

/** A read-out is as long as the largest flash such a board can have. */
const READ_BYTES_MAX = 16 * 1024 * 1024;

/** The options of `smirr pack`. */
export interface PackOptions {
  readonly board: BoardName;
  readonly settings: string | undefined;
  readonly calibration: string | undefined;
  readonly out: string | undefined;
  readonly verify: string | undefined;
}

/** What a builder does with a board. */
export const examples: readonly Example[] = [
  ['smirr pack --board pico -o car.uf2', 'initial settings, typical sensors: for a first try'],
  [
    'smirr pack --settings car.yaml --calibration sensors.yaml -o car.uf2',
    'the pack for one car; copy it to the boot drive',
  ],
  [
    'smirr pack --settings car.yaml --calibration sensors.yaml',
    'check everything, show the fingerprint, write nothing',
  ],
  [
    'smirr pack --settings car.yaml --calibration sensors.yaml --verify readback.bin',
    'is that what is on the chip?',
  ],
];

/** Declares the options. */
export function builder(yargs: Argv): Argv<PackOptions> {
  return yargs
    .option('board', {
      choices: BOARD_NAMES,
      default: 'pico' as const,
      describe: 'the board it is for',
    })
    .option('settings', {
      alias: 's',
      type: 'string',
      requiresArg: true,
      describe: 'settings file; without it the initial settings',
    })
    .option('calibration', {
      alias: 'c',
      type: 'string',
      requiresArg: true,
      describe: "calibration file; without it the board's typical sensors",
    })
    .option('out', {
      alias: 'o',
      type: 'string',
      requiresArg: true,
      describe: 'write the UF2 file to this name; without it nothing is written',
    })
    .option('verify', {
      type: 'string',
      requiresArg: true,
      describe: 'compare what was read out of a chip with the pack; exit code 1 if it differs',
    });
}

/** Packs or verifies. Throws `Fault` for bad usage, files and values. */
export async function handler(options: PackOptions, terminal: Terminal): Promise<number> {
  const { out, verify, settings, calibration } = options;
  if (out !== undefined && verify !== undefined) {
    throw new Fault('E-USAGE-02', 'pack either writes (--out) or compares (--verify), not both');
  }
  if (out === '-') {
    throw new Fault('E-USAGE-02', 'a pack is no text; give --out the name of a file');
  }
  checkInputOnce([settings, calibration, verify]);
  const { board } = options;
  const given = await namedSettings(settings, terminal);
  const loaded = await loadPack({ board, settings: given, calibration }, terminal);
  const { calibration: sensors, settings: packed } = loaded;
  const budget = { calibration: sensors.calibration, steps: sensors.steps, settings: packed };
  for (const sentence of finerThanSensor(budget)) terminal.warn(`smirr: ${sentence}`);
  return verify === undefined ? give(loaded, options, terminal) : compare(loaded, verify, terminal);
}

async function give(loaded: LoadedPack, options: PackOptions, terminal: Terminal): Promise<number> {
  const file = packUf2(loaded.pack);
  const { out } = options;
  if (out !== undefined) {
    const inputs = [options.settings, options.calibration].filter((path) => path !== undefined);
    await writeWhole(out, file, inputs);
  }
  const text = terminal.json
    ? `${JSON.stringify(packJson(loaded, options, file.length), null, 2)}\n`
    : packText(loaded, options, file.length);
  terminal.data(text);
  if (out !== undefined) terminal.say(`wrote ${out}`);
  return 0;
}

function packJson(loaded: LoadedPack, { board, out }: PackOptions, fileBytes: number): unknown {
  const { pack } = loaded;
  return {
    board,
    file: out ?? null,
    fileBytes,
    imageBytes: pack.image.length,
    bundleBytes: pack.bundle.length,
    settings: loaded.settingsName,
    calibration: loaded.calibration.name,
    typicalCalibration: loaded.isTypical,
    fingerprint: pack.fingerprint,
    cautions: CAUTIONS,
  };
}

function packText(loaded: LoadedPack, { board, out }: PackOptions, fileBytes: number): string {
  const { pack, settingsName, calibration, isTypical } = loaded;
  const typical = isTypical ? `typical sensors of board ${board}; calibrate your own` : undefined;
  const blocks = `${bytes(fileBytes)} in ${fileBytes / UF2_BLOCK_BYTES} blocks`;
  return [
    `Pack for board ${board}`,
    row('image', `${bytes(pack.image.length)} of ${bytes(IMAGE.length)}`),
    row('bundle', `${bytes(pack.bundle.length)} of ${bytes(BUNDLE.length)}`),
    row('settings', settingsName),
    row('calibration', typical ?? calibration.name),
    row('file', out === undefined ? `${blocks}; not written (no --out)` : `${out}, ${blocks}`),
    ...fingerprintRows(pack.fingerprint),
    '',
    'Before it is fitted to a car:',
    ...CAUTIONS.flatMap(caution),
    '',
  ].join('\n');
}

function caution(sentence: string): string[] {
  return fold(sentence, LINE_LENGTH_MAX).map(
    (line, index) => `${index === 0 ? '- ' : '  '}${line}`,
  );
}

function fingerprintRows({ code, sha256 }: Fingerprint): string[] {
  return [row('fingerprint', code), row('SHA-256', sha256)];
}

function row(name: string, text: string): string {
  return `  ${name.padEnd(12)} ${text}`;
}

function bytes(count: number): string {
  return `${count.toLocaleString('en-US')} bytes`;
}

async function compare(loaded: LoadedPack, path: string, terminal: Terminal): Promise<number> {
  const read = await readBytes(path, terminal.input, READ_BYTES_MAX);
  const result = verifyFlash(flashOf(read, path), loaded.pack);
  const same = result.parts.every((part) => part.same);
  if (terminal.json) {
    const { fingerprint: packed } = loaded.pack;
    const { parts, sequence = null, fingerprint: found = null } = result;
    const object = { file: path, same, parts, sequence, fingerprint: { packed, found } };
    terminal.data(`${JSON.stringify(object, null, 2)}\n`);
  } else {
    terminal.data(verifyText(path, loaded, result));
  }
  return same ? 0 : 1;
}

function verifyText(path: string, { pack }: LoadedPack, result: VerifyResult): string {
  const { parts, sequence, fingerprint } = result;
  const found = fingerprint?.code ?? 'none';
  return [
    verdict(path, parts),
    ...parts.flatMap((part) => partLines(part)),
    ...(sequence === undefined ? [] : [row('sequence', sequenceText(sequence))]),
    row('fingerprint', `${found}; of the pack ${pack.fingerprint.code}`),
    '',
  ].join('\n');
}

function sequenceText(sequence: number): string {
  return `${sequence}, as ${sequence === 1 ? 'flashed' : 'written by the device since'}`;
}

/** Settings may be changed on the device; anything else is another image. The two are told apart. */
function verdict(path: string, parts: readonly PartResult[]): string {
  const differing = parts.filter((part) => !part.same).map(({ part }) => part);
  if (differing.length === 0) return `${path} is this pack: every part is the same`;
  const others = differing.filter((name) => name !== 'settings');
  const settings = differing.length > others.length ? ['settings differ from pack'] : [];
  const rest = others.length === 0 ? [] : [`not this pack: ${andList(others)} ${differ(others)}`];
  return `${path}: ${[...rest, ...settings].join('; ')}`;
}

function differ(names: readonly string[]): string {
  return names.length === 1 ? 'differs' : 'differ';
}

function partLines({ part, same, differences }: PartResult): string[] {
  if (same) return [row(part, 'same')];
  return differences.map((difference, index) => row(index === 0 ? part : '', difference));
}
