/**
 * `smirr settings send FILE --port PORT` and `smirr settings receive --port PORT`: a settings file to a
 * controller, and the settings of a controller as a file. Used by settings.ts.
 */
import { SETTINGS } from '../../controller/settings.js';
import { connect, readCarried, withDevice, type Connect } from '../link/device.js';
import { sendSettings } from '../link/settings.js';
import { shown } from '../shown.js';
import {
  formatSettings,
  formatValue,
  SETTINGS_KIND,
  SETTINGS_VERSION,
} from '../settings/format.js';
import { namedSettings } from '../settings/named.js';
import type { Terminal } from '../terminal.js';

/** Writes, reads back, compares and applies. Throws E-LINK-01 to -08 and what reading the file throws. */
export async function send(
  file: string,
  port: string,
  terminal: Terminal,
  connectTo: Connect = connect,
): Promise<void> {
  const { settings, filled, name } = await namedSettings(file, terminal);
  const device = await connectTo(port, terminal);
  const { changes, sequence } = await withDevice(device, (open) =>
    sendSettings(open, settings, filled),
  );
  if (terminal.json) {
    terminal.data(`${JSON.stringify({ file: name, port, changes, sequence }, null, 2)}\n`);
    return;
  }
  const lines = changes.map((change) => `  ${change}`);
  const what =
    changes.length === 0
      ? `the controller on ${shown(port)} runs with the settings of ${name} already`
      : `${name} is written to the controller on ${shown(port)}, read back, the same, and in use:`;
  terminal.data([what, ...lines, `settings ${sequence}`, ''].join('\n'));
}

/** The settings that a controller runs with, as a settings file or JSON. */
export async function receive(
  port: string,
  terminal: Terminal,
  connectTo: Connect = connect,
): Promise<string> {
  const device = await connectTo(port, terminal);
  const { settings, content } = await withDevice(device, readCarried);
  if (!terminal.json) return formatSettings(settings);
  const values = SETTINGS.map((row) => [row.name, formatValue(row, settings[row.field])]);
  const head = { kind: SETTINGS_KIND, version: SETTINGS_VERSION, sequence: content.sequence };
  return `${JSON.stringify({ ...head, ...Object.fromEntries(values) }, null, 2)}\n`;
}
