/**
 * Every command with its arguments and options, as a section of Markdown. They come from the builders
 * that the command line itself uses: each is called with a recorder in place of yargs, so that page
 * and `--help` cannot differ.
 */
import type { Argv } from 'yargs';
import type { ListedCommand } from '../command/command.js';
import { COMMANDS } from '../commands.js';
import { markdownTable } from './render.js';

/** What is asked of the specification of an option. */
interface Specification {
  readonly alias?: string;
  readonly type?: string;
  readonly array?: boolean;
  readonly choices?: readonly string[];
  readonly describe?: string;
}

interface Declared {
  readonly kind: 'argument' | 'option';
  readonly name: string;
  readonly specification: Specification;
}

/** What a builder declares, in its order. Throws if it uses more of yargs than is recorded here. */
function declaredBy(builder: (yargs: Argv) => unknown): Declared[] {
  const declared: Declared[] = [];
  const note = (kind: Declared['kind']) => (name: string, specification: Specification) => {
    declared.push({ kind, name, specification });
    return recorder;
  };
  const recorder = { positional: note('argument'), option: note('option') };
  builder(recorder as unknown as Argv);
  return declared;
}

function written({ kind, name, specification }: Declared): string {
  if (kind === 'argument') return `\`${name}\``;
  const { alias, type } = specification;
  const long = alias === undefined ? `--${name}` : `-${alias}, --${name}`;
  return type === 'boolean' ? `\`${long}\`` : `\`${long} ${name.toUpperCase()}\``;
}

function described({ specification }: Declared): string {
  const { array, choices, describe = '' } = specification;
  const words = choices === undefined ? '' : ` (${choices.join(', ')})`;
  const several = array === true && !describe.startsWith('recorded') ? '; may be repeated' : '';
  return `${describe}${words}${several}`;
}

/** The arguments and options of one command. */
export async function optionsTable(command: ListedCommand): Promise<string> {
  const module = await command.load();
  return markdownTable(
    ['argument or option', 'what it does'],
    declaredBy(module.builder).map((each) => [written(each), described(each)]),
  );
}

/** The examples of one command, as its `--help` shows them first. */
async function examplesText(command: ListedCommand): Promise<string> {
  const { examples } = await command.load();
  return markdownTable(
    ['example', 'what for'],
    examples.map(([line, what]) => [`\`${line}\``, what]),
  );
}

/** Tables by name: the list of commands, and options and examples of each. */
export async function commandTables(): Promise<[name: string, table: string][]> {
  const list = markdownTable(
    ['command', 'what it does'],
    COMMANDS.map(({ usage, describe }) => [`\`smirr ${usage}\``, describe]),
  );
  const tables: [string, string][] = [['commands', list]];
  for (const command of COMMANDS) {
    tables.push([`options of ${command.name}`, await optionsTable(command)]);
    tables.push([`examples of ${command.name}`, await examplesText(command)]);
  }
  return tables;
}
