/**
 * `smirr settings list | init | check FILE | schema | upgrade FILE | send FILE | receive`: everything
 * about settings files that needs no trace. Takes a file's name or `-`; gives text or JSON on stdout, or a file with
 * `--out`. `upgrade` rewrites its own file unless told otherwise. Values are shown as people write them.
 */
import type { Argv } from 'yargs';
import { initialSettings } from '../../controller/settings-check.js';
import { SETTINGS } from '../../controller/settings.js';
import type { Settings } from '../../controller/settings.js';
import { Fault } from '../fault.js';
import { exists, shownName, writeWhole } from '../files.js';
import {
  SETTINGS_KIND,
  SETTINGS_VERSION,
  formatRange,
  formatSettings,
  formatValue,
  settingRow,
  settingsTableText,
} from '../settings/format.js';
import { fold } from '../shown.js';
import type { Connect } from '../link/device.js';
import type { Terminal } from '../terminal.js';
import type { Example } from './command.js';

const ACTIONS = ['list', 'init', 'check', 'schema', 'upgrade', 'send', 'receive'] as const;
type Action = (typeof ACTIONS)[number];

const LINE_LENGTH_MAX = 90;

/** More names than this are only counted in a message. */
const NAMED_MAX = 6;

const NEEDS_FILE: readonly Action[] = ['check', 'upgrade', 'send'];
const NEEDS_PORT: readonly Action[] = ['send', 'receive'];

/** The options of `smirr settings`. */
export interface SettingsOptions {
  readonly action: Action;
  readonly file: string | undefined;
  readonly out: string | undefined;
  readonly port: string | undefined;
}

/** What a user does first with settings files. */
export const examples: readonly Example[] = [
  ['smirr settings list', 'every setting: initial value, range, what it is'],
  ['smirr settings init -o car.yaml', 'a commented file with all initial values, to edit'],
  ['smirr settings check car.yaml', 'is it good, and what does it leave out?'],
  ['smirr settings upgrade car.yaml', 'add what is missing; your comments stay'],
  ['smirr settings send car.yaml --port /dev/ttyUSB0', 'write, read back, compare, apply'],
  ['smirr settings receive --port /dev/ttyUSB0 -o car.yaml', 'what the controller runs with'],
  ['smirr settings schema -o settings.schema.json', 'for editors: names, words and units'],
];

/** Declares the positionals and options. */
export function builder(yargs: Argv): Argv<SettingsOptions> {
  return yargs
    .positional('action', {
      choices: ACTIONS,
      demandOption: true,
      describe: 'what to do',
    })
    .positional('file', {
      type: 'string',
      describe: 'the settings file, for check, upgrade and send; - is standard input',
    })
    .option('out', {
      alias: 'o',
      type: 'string',
      requiresArg: true,
      describe: 'write the result to this file instead; - is standard output',
    })
    .option('port', {
      type: 'string',
      requiresArg: true,
      describe: 'for send and receive: serial port of the controller, or emulator',
    });
}

/** Does the action. Throws `Fault` for bad usage, files and values. */
export async function handler(
  options: SettingsOptions,
  terminal: Terminal,
  connectTo?: Connect,
): Promise<number> {
  const { action, file, out, port } = options;
  if (file === undefined && NEEDS_FILE.includes(action)) {
    throw new Fault('E-USAGE-02', `settings ${action} needs a file: smirr settings ${action} FILE`);
  }
  if (file !== undefined && !NEEDS_FILE.includes(action)) {
    const hint = out === undefined ? `; the result goes to a file with -o ${file}` : '';
    throw new Fault('E-USAGE-02', `settings ${action} reads no file${hint}`);
  }
  if (port === undefined && NEEDS_PORT.includes(action)) {
    throw new Fault('E-USAGE-02', `settings ${action} needs --port; smirr ports lists them`);
  }
  if (port !== undefined && !NEEDS_PORT.includes(action)) {
    throw new Fault('E-USAGE-02', `settings ${action} needs no --port`);
  }
  if (port !== undefined) return exchange({ ...options, port }, terminal, connectTo);
  if (action === 'list')
    await give(terminal.json ? listJson() : settingsTableText(), out, terminal);
  else if (action === 'init') await init(out, terminal);
  else if (action === 'check') await check(file as string, out, terminal);
  else if (action === 'schema') await schema(out, terminal);
  else await upgrade(file as string, out, terminal);
  return 0;
}

/** Sends or receives over a port. */
async function exchange(
  options: SettingsOptions & { readonly port: string },
  terminal: Terminal,
  connectTo: Connect | undefined,
): Promise<number> {
  const { receive, send } = await import('./settings-link.js');
  if (options.action === 'send') {
    if (options.out !== undefined) {
      throw new Fault('E-USAGE-02', 'settings send writes to the controller; --out has no use');
    }
    await send(options.file as string, options.port, terminal, connectTo);
    return 0;
  }
  await give(await receive(options.port, terminal, connectTo), options.out, terminal);
  return 0;
}

async function give(text: string, out: string | undefined, terminal: Terminal): Promise<void> {
  if (out === undefined || out === '-') {
    terminal.data(text);
    return;
  }
  await writeWhole(out, text);
  terminal.say(`wrote ${out}`);
}

function json(value: unknown): string {
  return `${JSON.stringify(value, null, 2)}\n`;
}

function listJson(): string {
  return json(
    SETTINGS.map((row) => ({
      name: row.name,
      initial: formatValue(row, row.initial),
      range: formatRange(row),
      what: row.what,
      why: row.why,
    })),
  );
}

/** Every setting by name, in the units people write. */
function namedValues(settings: Settings): Record<string, string> {
  return Object.fromEntries(
    SETTINGS.map((row) => [row.name, formatValue(row, settings[row.field])]),
  );
}

async function init(out: string | undefined, terminal: Terminal): Promise<void> {
  // A settings file holds hours of a tuner's work: a new one never replaces it.
  if (out !== undefined && out !== '-' && (await exists(out))) {
    const sentence = `${out} is there already and is not replaced by initial settings; choose another name`;
    throw new Fault('E-FILE-05', sentence, { file: out });
  }
  const settings = initialSettings();
  const text = terminal.json
    ? json({ kind: SETTINGS_KIND, version: SETTINGS_VERSION, ...namedValues(settings) })
    : formatSettings(settings);
  await give(text, out, terminal);
}

async function check(file: string, out: string | undefined, terminal: Terminal): Promise<void> {
  const { readSettings } = await import('../settings/read.js');
  const { settings, filled, notes } = await readSettings(file, terminal.input);
  const name = shownName(file);
  const given = SETTINGS.length - filled.length;
  if (terminal.json) {
    const result = {
      file: name,
      valid: true,
      given,
      filled,
      notes,
      settings: namedValues(settings),
    };
    await give(json(result), out, terminal);
    return;
  }
  const lines = [`${name} is good: it gives ${given} of ${SETTINGS.length} settings.`];
  if (filled.length > 0) {
    const values = filled.map((each) => {
      const row = settingRow(each);
      return `${each} ${formatValue(row, settings[row.field])}`.replaceAll(' ', '\u00A0');
    });
    lines.push('Initial values are used for');
    lines.push(...fold(`${values.join(', ')}.`, LINE_LENGTH_MAX).map(indented));
  }
  lines.push(...notes.map((note) => `Note: ${note}.`));
  await give(`${lines.join('\n')}\n`, out, terminal);
}

/** Name, value and unit stay on one line: they are folded with hard spaces, shown with plain ones. */
function indented(line: string): string {
  return `  ${line.replaceAll('\u00A0', ' ')}`;
}

async function schema(out: string | undefined, terminal: Terminal): Promise<void> {
  const { settingsSchema } = await import('../settings/schema.js');
  await give(json(settingsSchema()), out, terminal);
}

async function upgrade(file: string, out: string | undefined, terminal: Terminal): Promise<void> {
  const target = out ?? file;
  if (target === '-' && terminal.json) {
    throw new Fault('E-USAGE-02', 'settings upgrade --json needs a file for the result: -o FILE');
  }
  const { readSettingsText } = await import('../settings/read.js');
  const { upgradeSettings } = await import('../settings/upgrade.js');
  const name = shownName(file);
  const { text, changed, fromVersion, added, notes } = upgradeSettings(
    await readSettingsText(file, terminal.input),
    name,
  );
  if (target === '-') terminal.data(text);
  else if (changed || target !== file) await writeWhole(target, text);
  for (const note of notes) terminal.say(`Note: ${note}.`);
  if (terminal.json) terminal.data(json({ file: name, out: target, changed, fromVersion, added }));
  if (!changed) {
    terminal.say(
      `${name} is complete and of version ${SETTINGS_VERSION} already: nothing to change`,
    );
    return;
  }
  if (fromVersion !== SETTINGS_VERSION) {
    terminal.say(`${name}: from version ${fromVersion} to ${SETTINGS_VERSION}`);
  }
  const list = added.length > NAMED_MAX ? `${added.length} settings` : added.join(', ');
  const what = added.length === 0 ? 'nothing was missing' : `added ${list} with initial values`;
  terminal.say(target === '-' ? `${name}: ${what}` : `${name}: ${what}; wrote ${target}`);
}
