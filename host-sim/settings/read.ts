/**
 * Settings files by their path: what parse.ts makes of their text. Throws a `Fault` with file, line
 * (`row`) and column for whatever is wrong.
 */
import { basename } from 'node:path';
import type { Readable } from 'node:stream';
import { shownName } from '../files.js';
import { readKindText } from '../kind-read.js';
import { parseSettings, SETTINGS_FILE, type ReadSettings } from './parse.js';

/** Reads a settings file; `-` is standard input. Throws E-FILE-nn and E-SETTINGS-nn. */
export async function readSettings(
  path: string,
  input: Readable = process.stdin,
): Promise<ReadSettings> {
  const text = await readSettingsText(path, input);
  const name = shownName(path);
  return { ...parseSettings(text, name), name: basename(name) };
}

/** The text of a settings file that may be none yet. Throws E-FILE-nn, E-SETTINGS-01. */
export async function readSettingsText(path: string, input: Readable): Promise<string> {
  return readKindText(path, input, SETTINGS_FILE);
}
