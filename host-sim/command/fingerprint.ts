/**
 * `smirr fingerprint --port PORT`: what the controller says it carries, against a pack made of the same
 * options as `smirr pack` takes. The device makes SHA-256 of its image and bundle and tells its
 * settings; exit code 1 if any part differs from the pack.
 */
import type { Argv } from 'yargs';
import type { BoardName } from '../calibration/boards.js';
import { BOARD_NAMES } from '../calibration/boards.js';
import {
  carriedFingerprint,
  readCarriedPack,
  sha256Of,
  type CarriedPack,
} from '../link/carried-pack.js';
import { connect, withDevice, type Connect } from '../link/device.js';
import type { Fingerprint } from '../pack/fingerprint.js';
import { loadPack } from '../pack/load.js';
import type { Pack } from '../pack/compose.js';
import { calibrationDifferences, settingDifferences, type PartResult } from '../pack/verify.js';
import { namedSettings } from '../settings/named.js';
import { fold } from '../shown.js';
import type { Terminal } from '../terminal.js';
import type { Example } from './command.js';

const LINE_LENGTH_MAX = 90;

/** Said with every answer. */
export const NO_PROOF =
  'This is what the device says of itself, and no proof: a device that was tampered with could say ' +
  'the same. To be sure, read the flash out with the chip in its boot mode and compare the file: ' +
  'smirr pack --verify (docs/pack.md).';

export interface FingerprintOptions {
  readonly port: string;
  readonly board: BoardName;
  readonly settings: string | undefined;
  readonly calibration: string | undefined;
}

/** What a scrutineer or a builder asks. */
export const examples: readonly Example[] = [
  [
    'smirr fingerprint --port /dev/ttyUSB0 --settings car.yaml --calibration sensors.yaml',
    'does it say that it carries that pack?',
  ],
  ['smirr fingerprint --port emulator', 'the emulated board, against the pack it was made of'],
];

/** Declares the options. */
export function builder(yargs: Argv): Argv<FingerprintOptions> {
  return yargs
    .option('port', {
      type: 'string',
      requiresArg: true,
      demandOption: true,
      describe: 'serial port of the controller, or emulator',
    })
    .option('board', {
      choices: BOARD_NAMES,
      default: 'pico' as const,
      describe: 'the board it is',
    })
    .option('settings', {
      alias: 's',
      type: 'string',
      requiresArg: true,
      describe: 'settings file of the pack; without it the initial settings',
    })
    .option('calibration', {
      alias: 'c',
      type: 'string',
      requiresArg: true,
      describe: "calibration file of the pack; without it the board's typical sensors",
    });
}

/** Compares. Throws E-LINK-01 to -08 and what `loadPack` throws. */
export async function handler(
  options: FingerprintOptions,
  terminal: Terminal,
  connectTo: Connect = connect,
): Promise<number> {
  const { port, board, calibration } = options;
  const settings = await namedSettings(options.settings, terminal);
  const { pack } = await loadPack({ board, settings, calibration }, terminal);
  const found = await withDevice(await connectTo(port, terminal), async (device) => {
    terminal.progress('the controller is hashing its image and bundle');
    return readCarriedPack(device, pack);
  });
  const parts = comparedParts(found, pack);
  const same = parts.every((part) => part.same);
  const told = carriedFingerprint(found, pack);
  terminal.data(
    terminal.json
      ? `${JSON.stringify({ port, same, parts, sequence: found.content.sequence, fingerprint: { packed: pack.fingerprint, told: told ?? null }, caution: NO_PROOF }, null, 2)}\n`
      : text(port, parts, found.content.sequence, told, pack.fingerprint),
  );
  return same ? 0 : 1;
}

function comparedParts({ image, bundle, content }: CarriedPack, pack: Pack): PartResult[] {
  const part = (name: PartResult['part'], differences: readonly string[]): PartResult => ({
    part: name,
    same: differences.length === 0,
    differences,
  });
  return [
    part('image', hashDifference(image, pack.image)),
    part('bundle', hashDifference(bundle, pack.bundle)),
    part('settings', settingDifferences(content, pack.content)),
    part('calibration', calibrationDifferences(content, pack.content)),
  ];
}

function hashDifference(told: string, packed: Uint8Array): string[] {
  const here = sha256Of(packed);
  return told === here
    ? []
    : [`SHA-256 ${told.slice(0, 16)}... there, ${here.slice(0, 16)}... in the pack`];
}

function text(
  port: string,
  parts: readonly PartResult[],
  sequence: number,
  told: Fingerprint | undefined,
  packed: Fingerprint,
): string {
  const row = (name: string, words: string) => `  ${name.padEnd(12)} ${words}`;
  const same = parts.every((part) => part.same);
  return [
    `The controller on ${port} ${same ? 'says it carries this pack' : 'does not say it carries this pack'}`,
    ...parts.flatMap(({ part, differences }) =>
      differences.length === 0
        ? [row(part, 'same')]
        : differences.map((each, index) => row(index === 0 ? part : '', each)),
    ),
    row('sequence', `${sequence}`),
    row('fingerprint', `${told?.code ?? 'of another image or bundle'}; of the pack ${packed.code}`),
    '',
    ...fold(NO_PROOF, LINE_LENGTH_MAX),
    '',
  ].join('\n');
}
