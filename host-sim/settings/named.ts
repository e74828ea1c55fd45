/**
 * The settings that a command's `--settings` names, or the initial ones, with the name that summaries
 * give them. The reader of files is loaded only where there is a file.
 */
import { initialSettings } from '../../controller/settings-check.js';
import { SETTINGS, type SettingName, type Settings } from '../../controller/settings.js';
import type { Terminal } from '../terminal.js';

/** Settings with the name that summaries give them. */
export interface NamedSettings {
  readonly settings: Settings;
  readonly name: string;
  /** Settings that took their initial value. */
  readonly filled: readonly SettingName[];
}

/** The settings of a file, or the initial ones. Its notes become warnings. */
export async function namedSettings(
  path: string | undefined,
  terminal: Terminal,
): Promise<NamedSettings> {
  if (path === undefined) {
    const filled = SETTINGS.map((row) => row.name);
    return { settings: initialSettings(), name: 'initial settings', filled };
  }
  const { readSettings } = await import('./read.js');
  const { settings, name, notes, filled } = await readSettings(path, terminal.input);
  for (const note of notes) terminal.warn(`smirr: ${name}: ${note}`);
  return { settings, name, filled };
}
