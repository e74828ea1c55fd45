/**
 * Where the parts of a pack come from: engine image and core bundle as built into the package,
 * settings and calibration from files, or the initial settings and the board's typical calibration.
 */
import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import type { Settings } from '../../controller/settings.js';
import { type BoardName } from '../calibration/boards.js';
import { readCalibration, type ReadCalibration } from '../calibration/read.js';
import { Fault } from '../fault.js';
import { packagePath } from '../package-folder.js';
import { formatValue, settingRow } from '../settings/format.js';
import type { NamedSettings } from '../settings/named.js';
import type { Terminal } from '../terminal.js';
import { composePack, type Pack, type PackInputs } from './compose.js';

const BUNDLE_PATH = 'dist/board/core.es5.js';
const BUILD_BOARD = 'npm run board:build';

/** What is to be packed. */
export interface PackChoice {
  readonly board: BoardName;
  readonly settings: NamedSettings;
  /** A file; the board's typical calibration if absent. */
  readonly calibration: string | undefined;
}

/** A pack with the names of what is in it. */
export interface LoadedPack {
  readonly pack: Pack;
  readonly settings: Settings;
  readonly settingsName: string;
  readonly calibration: ReadCalibration;
  /** True if the calibration is the typical one that is shipped with the board. */
  readonly isTypical: boolean;
}

/** Reads, checks and composes. Throws E-PACK-01 to -04 and what the readers of the files throw. */
export async function loadPack(choice: PackChoice, terminal: Terminal): Promise<LoadedPack> {
  const { board, settings: given } = choice;
  const isTypical = choice.calibration === undefined;
  const path = choice.calibration ?? packagePath(`boards/${board}/calibration.yaml`);
  const calibration = await readCalibration(path, terminal.input);
  for (const note of calibration.notes) terminal.warn(`smirr: ${calibration.name}: ${note}`);
  refuseOtherBoard(calibration, board);
  const settings = withMeasuredFlow(given, calibration);
  const pack = composePack({ ...(await builtParts(board)), settings, calibration });
  return { pack, settings, settingsName: given.name, calibration, isTypical };
}

function refuseOtherBoard({ name, board }: { name: string; board: string }, wanted: string): void {
  if (board === wanted) return;
  throw new Fault('E-PACK-04', `${name} is for board ${board}, not for ${wanted}`, { file: name });
}

/** A measured flow stands for the setting, unless a settings file says another. */
function withMeasuredFlow(given: NamedSettings, calibration: ReadCalibration): Settings {
  const { settings, filled, name } = given;
  const { flowUlps } = calibration;
  if (flowUlps === undefined || flowUlps === settings.flowUlps) return settings;
  if (filled.includes('flow')) return { ...settings, flowUlps };
  const row = settingRow('flow');
  const [there, here] = [settings.flowUlps, flowUlps].map((value) => formatValue(row, value));
  throw new Fault(
    'E-PACK-04',
    `flow is ${there} in ${name} and ${here} in ${calibration.name}; take it out of one of them`,
    { file: name },
  );
}

type BuiltParts = Pick<PackInputs, 'image' | 'imageName' | 'code' | 'codeName' | 'bytecode'>;

/** What the board's build wrote down about itself (boards/pico/build.mjs). */
interface BuildFacts {
  /** SHA-256 of the image. */
  readonly sha256: string;
  /** SHA-256 of the source that the bytecode was compiled from. */
  readonly coreSha256?: string;
}

/** Image and bundle as they were built. Throws E-PACK-01, E-PACK-02 or E-PACK-03. */
async function builtParts(board: BoardName): Promise<BuiltParts> {
  const folder = `dist/board/${board}`;
  const imageName = `${folder}/image.bin`;
  const what = `the engine image of board ${board}`;
  const image = await builtFile(imageName, what, BUILD_BOARD);
  const code = await builtFile(BUNDLE_PATH, 'the core bundle', 'npm run build');
  const facts = parseFacts(await builtFile(`${folder}/build.json`, what, BUILD_BOARD));
  if (facts?.sha256 !== sha256(image)) {
    const sentence = `${imageName} cannot be packed: it is not the image that build.json beside it was written for; run ${BUILD_BOARD}`;
    throw new Fault('E-PACK-02', sentence, { file: imageName });
  }
  const bytecodeName = `${folder}/core.bytecode`;
  const bytecode = await builtOrNothing(bytecodeName);
  if (bytecode && facts.coreSha256 !== sha256(code)) {
    const sentence = `${bytecodeName} cannot be packed: it was compiled from another core than ${BUNDLE_PATH}; run ${BUILD_BOARD}`;
    throw new Fault('E-PACK-03', sentence, { file: bytecodeName });
  }
  return { image, imageName, code, codeName: BUNDLE_PATH, bytecode };
}

function parseFacts(bytes: Uint8Array): BuildFacts | undefined {
  try {
    return JSON.parse(Buffer.from(bytes).toString('utf8')) as BuildFacts;
  } catch {
    return undefined;
  }
}

function sha256(bytes: Uint8Array): string {
  return createHash('sha256').update(bytes).digest('hex');
}

async function builtOrNothing(path: string): Promise<Uint8Array | undefined> {
  try {
    return await readFile(packagePath(path));
  } catch {
    return undefined;
  }
}

/** What a build left in the package. Throws E-PACK-01, which names the command that makes it. */
export async function builtFile(path: string, what: string, command: string): Promise<Uint8Array> {
  const bytes = await builtOrNothing(path);
  if (bytes) return bytes;
  const sentence = `${what} is not built (${path} is not there); run ${command}`;
  throw new Fault('E-PACK-01', sentence, { file: path });
}
