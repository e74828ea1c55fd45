/**
 * The frame round every command: arguments in, exit code out. It loads the one command that is
 * called, lets yargs read its options, and turns whatever goes wrong into one sentence with a stable
 * code on stderr (JSON with `--json`). Exit codes: 0 done, 1 a check failed, 2 usage, 3 a file or
 * value is bad, 4 port or device, 5 our own fault.
 */
import type { Argv } from 'yargs';
import type { CommandModule, Example, ListedCommand } from './command/command.js';
import { COMMANDS } from './commands.js';
import { Fault } from './fault.js';
import { suggestion } from './nearest.js';
import { oneLine, orList, shown } from './shown.js';
import { processTerminal } from './terminal.js';
import type { Manner, Terminal } from './terminal.js';
import { version } from './version.js';

const TOP_EXAMPLES: readonly Example[] = [
  ['smirr replay demo:hot --html hot.html', 'the built-in demo, as a page'],
  ['smirr replay run.csv', 'what would it have done, and why?'],
  ['smirr replay run.csv --settings car.yaml --html run.html', 'with your settings, as a page'],
  ['smirr settings init -o car.yaml', 'a commented settings file to edit'],
];

/** Faults shown one by one; one more line may say how many follow. */
const SHOWN_FAULTS_MAX = 3;

const HELP_WIDTH = 96;

/** What the handlers of yargs end with. */
const OPTIONS_READ = new Error('the options are read');

/** Stands for `-` while yargs reads the arguments, because it drops a lone `-` among positionals. */
const STANDARD_INPUT = '\uE000-';

/**
 * Runs one command line (without node and script). Gives the exit code and never throws.
 * `makeTerminal` is replaced in tests.
 */
export async function run(
  args: readonly string[],
  makeTerminal: (manner: Manner) => Terminal = processTerminal,
): Promise<number> {
  const terminal = makeTerminal(mannerOf(args));
  try {
    if (args[0] === '--complete') return await complete(args.slice(1), terminal);
    if (args.includes('--version')) {
      terminal.data(`smirr ${version()}\n`);
      return 0;
    }
    return await runCommand(args, terminal);
  } catch (error) {
    const fault = asFault(error);
    report(fault, terminal, args);
    return fault.exit;
  }
}

/** How much is said and in which form: known before the options are read, for faults in them. */
function mannerOf(args: readonly string[]): Manner {
  const end = args.indexOf('--');
  const options = end < 0 ? args : args.slice(0, end);
  const has = (...names: string[]) =>
    names.some((name) => options.includes(name) || options.includes(`${name}=true`));
  return { json: has('--json'), quiet: has('--quiet', '-q'), verbose: has('--verbose') };
}

async function runCommand(args: readonly string[], terminal: Terminal): Promise<number> {
  const listed = calledCommand(args);
  const [parser, module] = await Promise.all([makeParser(), listed?.load()]);
  const called = addCommands(parser, listed, module);
  parser.fail((message, error) => {
    const sentence = message.replaceAll(STANDARD_INPUT, '-');
    throw error instanceof Fault ? error : usageFault(sentence, args, listed, called.known);
  });
  let help = '';
  const masked = args.map((arg) => (arg === '-' ? STANDARD_INPUT : arg));
  try {
    await parser.parseAsync(masked, {}, (_error: unknown, _argv: unknown, output: string) => {
      help = output;
    });
  } catch (error) {
    if (error !== OPTIONS_READ) throw error;
  }
  if (help !== '') {
    terminal.data(`${exampleText(module ? module.examples : TOP_EXAMPLES)}\n${help}\n`);
    return 0;
  }
  if (!module) {
    terminal.warn(`${exampleText(TOP_EXAMPLES)}\n${await parser.getHelp()}`);
    return 2;
  }
  const options = unmask(called.options);
  checkShape(options, called.known, listed?.usage ?? '', args);
  return module.handler(options, terminal);
}

/** The first word that is no option: options that stand before a command take no value. */
function calledCommand(args: readonly string[]): ListedCommand | undefined {
  const word = args.find((arg) => !arg.startsWith('-'));
  return COMMANDS.find((command) => command.name === word);
}

async function makeParser(): Promise<Argv> {
  const { default: yargs } = await import('yargs');
  return yargs()
    .scriptName('smirr')
    .locale('en')
    .parserConfiguration({
      'boolean-negation': false,
      'camel-case-expansion': false,
      'dot-notation': false,
      'greedy-arrays': false,
      'parse-numbers': false,
      'parse-positional-numbers': false,
    })
    .usage('smirr <command>: when a mist controller would spray, and why')
    .exitProcess(false)
    .strict()
    .wrap(HELP_WIDTH)
    .version(false)
    .help('help', 'show this help')
    .alias('help', 'h')
    .option('version', { type: 'boolean', describe: 'show the version' })
    .option('json', { type: 'boolean', describe: 'results and errors as JSON' })
    .option('quiet', { type: 'boolean', alias: 'q', describe: 'no messages, no progress' })
    .option('verbose', { type: 'boolean', describe: 'errors with their stack trace' });
}

/** What yargs knows of the options of a command; its types do not tell of it. */
interface KnownOptions {
  readonly key: Readonly<Record<string, unknown>>;
  readonly alias: Readonly<Record<string, readonly string[]>>;
  readonly array: readonly string[];
  readonly string: readonly string[];
  readonly choices: Readonly<Record<string, readonly string[]>>;
}

/** The command that was called: filled while yargs parses. */
interface CalledCommand {
  known: KnownOptions;
  options: Record<string, unknown>;
}

function knownOptions(parser: Argv): KnownOptions {
  return (parser as unknown as { getOptions: () => KnownOptions }).getOptions();
}

/** Adds every command; the called one with its module's options, the others by name only. */
function addCommands(
  parser: Argv,
  called: ListedCommand | undefined,
  module: CommandModule<unknown> | undefined,
): CalledCommand {
  const result: CalledCommand = { known: knownOptions(parser), options: {} };
  for (const command of COMMANDS) {
    parser.command({
      command: command.usage,
      describe: command.describe,
      builder: (inner: Argv) => {
        const built = command === called && module ? (module.builder(inner) as Argv) : inner;
        result.known = knownOptions(built);
        return built;
      },
      handler: (argv: Record<string, unknown>) => {
        result.options = argv;
        // Thrown, since yargs lays out all of its help after a handler that returns.
        throw OPTIONS_READ;
      },
    });
  }
  return result;
}

function exampleText(examples: readonly Example[]): string {
  const width = Math.max(...examples.map(([line]) => line.length));
  const inOneLine = examples.every(([, what]) => width + what.length + 4 <= HELP_WIDTH);
  const lines = examples.map(([line, what]) =>
    inOneLine ? `  ${line.padEnd(width)}  ${what}` : `  ${line}\n      ${what}`,
  );
  return `Examples:\n${lines.join('\n')}\n`;
}

function unmask(options: Record<string, unknown>): Record<string, unknown> {
  const back = (value: unknown): unknown => {
    if (Array.isArray(value)) return value.map(back);
    return value === STANDARD_INPUT ? '-' : value;
  };
  return Object.fromEntries(Object.entries(options).map(([name, value]) => [name, back(value)]));
}

/** What yargs lets through: options given twice, empty values, words after `--`. */
function checkShape(
  options: Record<string, unknown>,
  known: KnownOptions,
  usage: string,
  args: readonly string[],
): void {
  const words = options['_'] as unknown[];
  if (words.length > 1) {
    throw new Fault('E-USAGE-02', `${String(words[1])} is one argument too many`);
  }
  for (const [name, value] of Object.entries(options)) {
    // `_`, and every option's one-letter name beside its long one.
    if (name.length === 1 || name === '$0') continue;
    const isList = known.array.includes(name);
    if (Array.isArray(value) && !isList) {
      throw new Fault('E-USAGE-02', `--${name} is given ${value.length} times; give it once`);
    }
    const mayLack = usage.includes(`[${name}..]`);
    const isEmpty =
      value === '' ||
      (Array.isArray(value) && ((value.length === 0 && !mayLack) || value.includes('')));
    if (!isEmpty) continue;
    const written = isPositional(name, usage) ? name : optionAsWritten(name, known, args);
    throw new Fault('E-USAGE-02', `${written} is empty; it needs a value`);
  }
}

/** Whether a command's usage has an argument of this name: <file> or [trace..]. */
function isPositional(name: string, usage: string): boolean {
  return new RegExp(`[<[]${name}\\b`, 'u').test(usage);
}

/** An option with its dashes, by the name that the user took: --settings, or -s. */
function optionAsWritten(name: string, known: KnownOptions, args: readonly string[]): string {
  const names = [name, ...(known.alias[name] ?? [])];
  const dashed = names.map((each) => (each.length === 1 ? `-${each}` : `--${each}`));
  const words = args.map((arg) => arg.split('=', 1)[0]);
  return dashed.find((each) => words.includes(each)) ?? dashed[0];
}

/** The fault for what yargs refused, from its sentence (locale 'en', pinned by tests). */
function usageFault(
  message: string,
  args: readonly string[],
  listed: ListedCommand | undefined,
  known: KnownOptions,
): Fault {
  const unknown = /^Unknown arguments?: (.*)$/su.exec(message)?.[1];
  if (unknown !== undefined) return unknownFault(unknown, args, listed, known);
  const choice = /Argument: (\S+), Given: "?(.*?)"?, Choices: (.*)/u.exec(message);
  if (choice) {
    const [, name, given, list] = choice;
    const choices = list.split(', ').map((each) => each.replaceAll('"', ''));
    const hint = suggestion(given, choices) || `; it must be ${orList(choices)}`;
    if (!isPositional(name, listed?.usage ?? '')) {
      return new Fault('E-USAGE-01', `--${name} is ${shown(given)}${hint}`);
    }
    return new Fault('E-USAGE-01', `${shown(given)} is no ${name} of smirr ${listed?.name}${hint}`);
  }
  if (message.startsWith('Not enough non-option arguments')) {
    return new Fault('E-USAGE-02', `an argument is missing; write smirr ${listed?.usage}`);
  }
  const lacking = /^Not enough arguments following: (.*)$/u.exec(message)?.[1];
  if (lacking !== undefined) {
    return new Fault('E-USAGE-02', `${asWritten(lacking, args)} needs a value`);
  }
  return new Fault('E-USAGE-02', message.replace(/\s+/gu, ' ').trim());
}

/** `names` are those that yargs does not know, joined by commas; the first is spoken of. */
function unknownFault(
  names: string,
  args: readonly string[],
  listed: ListedCommand | undefined,
  known: KnownOptions,
): Fault {
  const written = asWritten(names, args);
  if (written.startsWith('-') && written !== '-') {
    const of = listed ? ` of smirr ${listed.name}` : '';
    const hint = suggestion(written, optionNames(known.key));
    return new Fault('E-USAGE-01', `${shown(written)} is no option${of}${hint}`);
  }
  if (listed) return new Fault('E-USAGE-02', `${shown(written)} is one argument too many`);
  const commands = COMMANDS.map((command) => command.name);
  const hint = suggestion(written, commands) || `; it must be ${orList(commands)}`;
  return new Fault('E-USAGE-01', `${shown(written)} is no command${hint}`);
}

/** The first of `names` as the user wrote it: yargs names options without dashes and values. */
function asWritten(names: string, args: readonly string[]): string {
  const written = args.map((arg) => (arg.startsWith('-') ? arg.split('=', 1)[0] : arg));
  const bare = (arg: string) => (arg === '-' ? arg : arg.replace(/^-+/u, ''));
  return (
    written.find((arg) => `${names},`.startsWith(`${bare(arg)},`)) ?? `-${names.split(',', 1)[0]}`
  );
}

function asFault(error: unknown): Fault {
  if (error instanceof Fault) return error;
  const text = error instanceof Error ? error.message : String(error);
  const fault = new Fault('E-INTERNAL-01', `smirr itself failed (${text}); please report it`);
  if (error instanceof Error && error.stack !== undefined) fault.stack = error.stack;
  return fault;
}

function report(fault: Fault, terminal: Terminal, args: readonly string[]): void {
  if (terminal.json) {
    const others = fault.others.map(faultJson);
    const all = others.length === 0 ? faultJson(fault) : { ...faultJson(fault), others };
    terminal.warn(JSON.stringify(all));
    return;
  }
  const faults = [fault, ...fault.others];
  for (const each of faults.slice(0, SHOWN_FAULTS_MAX)) {
    terminal.warn(`smirr: ${oneLine(each.message)} [${each.code}]`);
  }
  const more = faults.length - SHOWN_FAULTS_MAX;
  if (more > 0) terminal.warn(`smirr: and ${more} more; --json lists all`);
  if (fault.exit === 2) {
    const listed = calledCommand(args);
    terminal.say(`'smirr ${listed ? `${listed.name} ` : ''}--help' shows how to write it`);
  }
  if (terminal.verbose && fault.stack !== undefined) terminal.warn(fault.stack);
}

function faultJson(fault: Fault): Record<string, unknown> {
  const { code, file = null, row = null, column = null } = fault;
  return { code, message: oneLine(fault.message), file, row, column };
}

/** `--complete WORD...`: the words typed so far, the last one unfinished; candidates on stdout. */
async function complete(words: readonly string[], terminal: Terminal): Promise<number> {
  const candidates = await candidatesFor(words.slice(0, -1), words[words.length - 1] ?? '');
  for (const candidate of candidates) terminal.data(`${candidate}\n`);
  return 0;
}

async function candidatesFor(before: readonly string[], current: string): Promise<string[]> {
  const listed = calledCommand(before);
  const [parser, module] = await Promise.all([makeParser(), listed?.load()]);
  const called = addCommands(parser, listed, module);
  // Asking for help makes yargs call the command's builder and nothing else.
  if (listed) await parser.parseAsync([listed.name, '--help'], {}, () => undefined);
  const { key, string, choices } = called.known;
  const optionName = (word: string) => (word.startsWith('-') ? word.replace(/^-+/u, '') : '');
  const last = optionName(before[before.length - 1] ?? '');
  if (choices[last]) return matching(choices[last], current);
  // The value of an option is a file or a number: the shell's business.
  if (string.includes(last)) return [];
  if (!listed) {
    const names = COMMANDS.map((command) => command.name);
    return matching([...names, ...optionNames(key)], current);
  }
  const positionals = Array.from(listed.usage.matchAll(/[<[](\w+)/gu), (match) => match[1]);
  const given = before.filter(
    (word, index) => !word.startsWith('-') && !string.includes(optionName(before[index - 1] ?? '')),
  );
  const wanted = positionals[given.length - 1] ?? '';
  const options = optionNames(key).filter((name) => !positionals.includes(name.slice(2)));
  return matching([...(choices[wanted] ?? []), ...options], current);
}

/** Options are offered once a dash is typed: before that they would drown the words. */
function matching(candidates: readonly string[], current: string): string[] {
  return candidates.filter(
    (each) => each.startsWith(current) && (current !== '' || !each.startsWith('-')),
  );
}

function optionNames(key: Readonly<Record<string, unknown>>): string[] {
  return Object.keys(key)
    .filter((name) => name.length > 1)
    .map((name) => `--${name}`);
}
