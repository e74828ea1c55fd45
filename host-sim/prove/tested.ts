/**
 * What a report was made of: version, settings, pack, traces and how they were read, with hashes of all that
 * decides. Known before anything is tried, so that a repetition that cannot come out the same ends at once.
 */
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { LIMITS } from '../../controller/limits.js';
import type { Settings } from '../../controller/settings.js';
import { limitBytes } from '../pack/fingerprint.js';
import type { LoadedPack } from '../pack/load.js';
import { packagePath } from '../package-folder.js';
import { version } from '../version.js';
import { coreHash } from './core-hash.js';
import type { Reading, Tested } from './report.js';
import type { GivenTrace } from './runs.js';

/** What is to be tested. */
export interface ToTest {
  readonly settings: Settings;
  readonly settingsName: string;
  /** The pack for the emulated board, or why there is none. */
  readonly pack: LoadedPack | string;
  /** Recorded traces that faults are put into as well. */
  readonly traces?: readonly GivenTrace[];
  /** How they were read. */
  readonly reading?: Reading;
}

/** What is tested, before anything is tried. */
export function testedOf(subjects: ToTest): Tested {
  const { settings, settingsName, pack, traces = [], reading = {} } = subjects;
  const sha = (bytes: Uint8Array) => createHash('sha256').update(bytes).digest('hex');
  const flat = Buffer.from(JSON.stringify(settings), 'utf8');
  const isPacked = typeof pack !== 'string';
  return {
    ...{ version: version(), settingsName, settings },
    fingerprint: isPacked ? pack.pack.fingerprint.code : '',
    coreSha256: coreHash(),
    bundleSha256: bundleHash(sha),
    limitsSha256: sha(limitBytes(LIMITS)),
    settingsSha256: sha(flat),
    calibration: isPacked ? pack.calibration.name : 'readings in engineering units',
    traces: traces.map(({ trace, sha256: hash }) => ({
      ...{ name: trace.name, sha256: hash },
      seconds: Math.round(trace.timeMs[trace.timeMs.length - 1] / 1000),
    })),
    reading,
  };
}

function bundleHash(sha: (bytes: Uint8Array) => string): string {
  try {
    return sha(readFileSync(packagePath('dist/board/core.es5.js')));
  } catch {
    return '';
  }
}
