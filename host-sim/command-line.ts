/**
 * The frame round every command: arguments in, exit code out. It loads the one command that is
 * called, lets yargs read its options, and turns whatever goes wrong into one sentence with a stable
 * code on stderr (JSON with `--json`). Exit codes: 0 done, 1 a check failed, 2 usage, 3 a file or
 * value is bad, 4 port or device, 5 our own fault.
 */
import type { ArgumentsCamelCase, Argv } from 'yargs';
import type { CommandModule, Example, ListedCommand } from './command/command.js';
import { COMMANDS } from './commands.js';
import { COMPLETION_SCRIPTS, completionScript } from './completion.js';
import { Fault } from './fault.js';
import { suggestion } from './nearest.js';
import { processTerminal } from './terminal.js';
import type { Manner, Terminal } from './terminal.js';
import { version } from './version.js';

const TOP_EXAMPLES: readonly Example[] = [
  ['smirr replay run.csv', 'what would it have done, and why?'],
  ['smirr replay run.csv --settings car.yaml --html run.html', 'with your settings, as a page'],
  ['smirr settings init -o car.yaml', 'a commented settings file to edit'],
];

/** Faults shown one by one; one more line may say how many follow. */
const SHOWN_FAULTS_MAX = 3;

const HELP_WIDTH = 96;

/** Stands for `-` while yargs reads the arguments, because it drops a lone `-` among positionals. */
const STANDARD_INPUT = '\0-';

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
  const [yargs, module] = await Promise.all([makeParser(), listed?.load()]);
  let options: Record<string, unknown> = {};
  const parser = addCommands(yargs, module && listed ? { listed, module } : undefined, (argv) => {
    options = argv;
  });
  parser.fail((message, error, failed) => {
    throw error instanceof Fault ? error : usageFault(message, args, listed, failed);
  });
  let help = '';
  const masked = args.map((arg) => (arg === '-' ? STANDARD_INPUT : arg));
  await parser.parseAsync(masked, {}, (_error: unknown, _argv: unknown, output: string) => {
    help = output;
  });
  if (help !== '') {
    terminal.data(`${exampleText(module ? module.examples : TOP_EXAMPLES)}\n${help}\n`);
    return 0;
  }
  if (listed?.name === undefined && options['shell'] === undefined) {
    terminal.warn(`${exampleText(TOP_EXAMPLES)}\n${await parser.getHelp()}`);
    return 2;
  }
  const checked = unmask(options);
  checkShape(checked, parser);
  if (!listed || !module) {
    terminal.data(completionScript(String(checked['shell'])));
    return 0;
  }
  return module.handler(checked as ArgumentsCamelCase<unknown>, terminal);
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

/** A command with its module. */
interface LoadedCommand {
  readonly listed: ListedCommand;
  readonly module: CommandModule<unknown>;
}

function addCommands(
  yargs: Argv,
  loaded: LoadedCommand | undefined,
  chosen: (argv: Record<string, unknown>) => void,
): Argv {
  let parser = yargs;
  for (const command of COMMANDS) {
    parser = parser.command({
      command: command.usage,
      describe: command.describe,
      builder: (inner: Argv) =>
        command === loaded?.listed ? (loaded.module.builder(inner) as Argv) : inner,
      handler: chosen,
    });
  }
  return parser.command({
    command: 'completion <shell>',
    describe: 'the script that completes smirr in your shell',
    builder: (inner: Argv) =>
      inner.positional('shell', {
        choices: Object.keys(COMPLETION_SCRIPTS),
        describe: 'add it once: smirr completion bash >> ~/.bashrc',
      }),
    handler: chosen,
  });
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
function checkShape(options: Record<string, unknown>, parser: Argv): void {
  const { array } = optionsOf(parser);
  const words = options['_'] as unknown[];
  if (words.length > 1) {
    throw new Fault('E-USAGE-02', `${String(words[1])} is one argument too many`);
  }
  for (const [name, value] of Object.entries(options)) {
    if (name === '_' || name === '$0') continue;
    const isList = array.includes(name);
    if (Array.isArray(value) && !isList) {
      throw new Fault('E-USAGE-02', `--${name} is given ${value.length} times; give it once`);
    }
    const isEmpty =
      value === '' || (Array.isArray(value) && (value.length === 0 || value.includes('')));
    if (isEmpty) throw new Fault('E-USAGE-02', `${name} is empty; it needs a value`);
  }
}

/** What yargs knows of its options; its types do not tell of it. */
function optionsOf(parser: Argv): { key: Record<string, unknown>; array: string[] } {
  return (
    parser as unknown as { getOptions: () => { key: Record<string, unknown>; array: string[] } }
  ).getOptions();
}

/** The fault for what yargs refused, from its sentence (locale 'en', pinned by tests). */
function usageFault(
  message: string,
  args: readonly string[],
  listed: ListedCommand | undefined,
  parser: Argv,
): Fault {
  const unknown = /^Unknown arguments?: ([^,]+)/u.exec(message)?.[1];
  if (unknown !== undefined) return unknownFault(unknown, args, listed, parser);
  const choice = /Argument: (\S+), Given: "?(.*?)"?, Choices: (.*)/u.exec(message);
  if (choice) {
    const [, name, given, list] = choice;
    const choices = list.split(', ').map((each) => each.replaceAll('"', ''));
    const hint = suggestion(given, choices) || `; it must be ${choices.join(', ')}`;
    return new Fault(
      'E-USAGE-01',
      `${given} is no ${name}${listed ? ` of ${listed.name}` : ''}${hint}`,
    );
  }
  if (message.startsWith('Not enough non-option arguments')) {
    const usage = listed?.usage ?? 'completion <shell>';
    return new Fault('E-USAGE-02', `an argument is missing; write smirr ${usage}`);
  }
  const lacking = /^Not enough arguments following: (.*)$/u.exec(message)?.[1];
  if (lacking !== undefined) {
    return new Fault('E-USAGE-02', `${asWritten(lacking, args)} needs a value`);
  }
  return new Fault('E-USAGE-02', message.replace(/\s+/gu, ' ').trim());
}

function unknownFault(
  name: string,
  args: readonly string[],
  listed: ListedCommand | undefined,
  parser: Argv,
): Fault {
  const written = asWritten(name, args);
  if (written.startsWith('-')) {
    const names = Object.keys(optionsOf(parser).key)
      .filter((key) => key.length > 1)
      .map((key) => `--${key}`);
    return new Fault('E-USAGE-01', `${written} is no option${suggestion(written, names)}`);
  }
  if (listed) return new Fault('E-USAGE-02', `${written} is one argument too many`);
  const commands = [...COMMANDS.map((command) => command.name), 'completion'];
  const hint = suggestion(written, commands) || `; it must be ${commands.join(', ')}`;
  return new Fault('E-USAGE-01', `${written} is no command${hint}`);
}

/** An argument as the user wrote it: yargs names options without their dashes. */
function asWritten(name: string, args: readonly string[]): string {
  if (args.includes(name)) return name;
  const option = args.find((arg) => arg.replace(/^-+/u, '').split('=', 1)[0] === name);
  return option?.split('=', 1)[0] ?? `-${name}`;
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

/** File names and cells may hold anything: a terminal is shown no control characters. */
function oneLine(text: string): string {
  return text.replace(/\s+/gu, ' ').replace(/\p{Cc}/gu, '?');
}

/** `--complete WORD...`: the words typed so far, the last one unfinished; candidates on stdout. */
async function complete(words: readonly string[], terminal: Terminal): Promise<number> {
  const listed = COMMANDS.find((command) => command.name === words[1]);
  const [yargs, module] = await Promise.all([makeParser(), listed?.load()]);
  const loaded = module && listed ? { listed, module } : undefined;
  const parser = addCommands(yargs, loaded, () => undefined);
  const found = (await parser.getCompletion([...words])) as unknown as string[] | undefined;
  for (const candidate of found ?? []) terminal.data(`${candidate}\n`);
  return 0;
}
