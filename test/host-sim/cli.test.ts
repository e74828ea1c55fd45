/**
 * The command line's frame: exit codes, messages, help, nearest names, completion. Most run
 * in-process; what only a process can show (pipes, interrupts, the shebang) runs the compiled
 * dist/host-sim/cli.js, which `npm test` builds first.
 */
import { execFile, spawn } from 'node:child_process';
import { closeSync, existsSync, openSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { describe, expect, it } from 'vitest';
import { COMMANDS } from '../../host-sim/commands.js';
import { MESSAGES } from '../../host-sim/messages.js';
import { smirr } from './smirr.js';

const HINT = "'smirr settings --help' shows how to write it\n";

async function errorOf(...args: string[]): Promise<string> {
  const { exit, out, err } = await smirr(...args);
  expect(out).toBe('');
  expect(exit).toBe(2);
  return err;
}

describe('help', () => {
  it('begins with examples and lists every command that exists', async () => {
    const { exit, out, err } = await smirr('--help');
    expect([exit, err]).toEqual([0, '']);
    expect(out.startsWith('Examples:\n  smirr replay demo:hot ')).toBe(true);
    for (const { usage, describe: what } of COMMANDS) {
      expect(out).toContain(`smirr ${usage}`);
      expect(out).toContain(what);
    }
    for (const line of out.split('\n')) expect(line.length).toBeLessThanOrEqual(96);
  });

  it('of a command begins with its examples and shows its options', async () => {
    for (const args of [
      ['settings', '--help'],
      ['-h', 'settings'],
      ['settings', 'check', '-h'],
    ]) {
      const { exit, out } = await smirr(...args);
      expect(exit).toBe(0);
      expect(out.startsWith('Examples:\n  smirr settings list\n')).toBe(true);
      expect(out).toContain('-o, --out');
      expect(out).toContain('"list", "init", "check", "schema", "upgrade"');
    }
  });

  it('goes to stderr with exit 2 when nothing was asked', async () => {
    const { exit, out, err } = await smirr();
    expect([exit, out]).toEqual([2, '']);
    expect(err.startsWith('Examples:\n')).toBe(true);
    expect(err).toContain('smirr settings <action> [file]');
  });

  it('names the version', async () => {
    const { version } = JSON.parse(
      readFileSync(new URL('../../package.json', import.meta.url), 'utf8'),
    ) as { version: string };
    expect(await smirr('--version')).toEqual({ exit: 0, out: `smirr ${version}\n`, err: '' });
    expect(await smirr('settings', '--version')).toMatchObject({ out: `smirr ${version}\n` });
  });
});

describe('a mistyped command line', () => {
  const all = COMMANDS.map((command) => command.name);
  it.each([
    [['setings', 'list'], 'setings is no command; did you mean settings? [E-USAGE-01]'],
    [['replya', 'x.csv'], 'replya is no command; did you mean replay? [E-USAGE-01]'],
    [
      ['a,b'],
      `a,b is no command; it must be ${all.slice(0, -1).join(', ')} or ${all.at(-1)} [E-USAGE-01]`,
    ],
    [['--jsno'], '--jsno is no option; did you mean --json? [E-USAGE-01]'],
    [
      ['-'],
      `- is no command; it must be ${all.slice(0, -1).join(', ')} or ${all.at(-1)} [E-USAGE-01]`,
    ],
  ])('%j', async (args, sentence) => {
    const err = await errorOf(...args);
    expect(err).toBe(`smirr: ${sentence}\n'smirr --help' shows how to write it\n`);
  });

  it.each([
    [['chekc', 'a.yaml'], 'chekc is no action of smirr settings; did you mean check? [E-USAGE-01]'],
    [
      ['frobnicate'],
      'frobnicate is no action of smirr settings; it must be list, init, check, schema, upgrade, send or receive [E-USAGE-01]',
    ],
    [
      ['-'],
      '- is no action of smirr settings; it must be list, init, check, schema, upgrade, send or receive [E-USAGE-01]',
    ],
    [
      ['list', '--ouput', 'a'],
      '--ouput is no option of smirr settings; did you mean --out? [E-USAGE-01]',
    ],
    [
      ['list', '--ouput=a'],
      '--ouput is no option of smirr settings; did you mean --out? [E-USAGE-01]',
    ],
    [['list', '-z'], '-z is no option of smirr settings [E-USAGE-01]'],
    [['check', 'a', 'b'], 'b is one argument too many [E-USAGE-02]'],
    [['check', 'a', '--', 'b'], 'b is one argument too many [E-USAGE-02]'],
    [[], 'an argument is missing; write smirr settings <action> [file] [E-USAGE-02]'],
    [['list', '-o'], '-o needs a value [E-USAGE-02]'],
    [['list', '--out'], '--out needs a value [E-USAGE-02]'],
    [['list', '--out='], '--out is empty; it needs a value [E-USAGE-02]'],
    [['list', '-o', ''], '-o is empty; it needs a value [E-USAGE-02]'],
    [['check', ''], 'file is empty; it needs a value [E-USAGE-02]'],
    [['list', '-o', 'a', '--out', 'b'], '--out is given 2 times; give it once [E-USAGE-02]'],
  ])('settings %j', async (args, sentence) => {
    expect(await errorOf('settings', ...args)).toBe(`smirr: ${sentence}\n${HINT}`);
  });

  it('names an option whose word is mistyped', async () => {
    const sentence = '--between is lineer; did you mean linear? [E-USAGE-01]';
    expect(await errorOf('replay', 'run.csv', '--between', 'lineer', '-q')).toBe(
      `smirr: ${sentence}\n`,
    );
  });

  it('is an object on stderr with --json, and has no hint with --quiet', async () => {
    expect(JSON.parse(await errorOf('settings', 'chekc', '--json'))).toEqual({
      code: 'E-USAGE-01',
      message: 'chekc is no action of smirr settings; did you mean check?',
      file: null,
      row: null,
      column: null,
    });
    expect(await errorOf('settings', 'chekc', '-q')).toBe(
      'smirr: chekc is no action of smirr settings; did you mean check? [E-USAGE-01]\n',
    );
  });

  it('shows where with --verbose', async () => {
    expect(await errorOf('settings', 'chekc', '--verbose')).toMatch(/\n {4}at .*command-line/u);
  });
});

describe('completion', () => {
  it.each([
    [['s'], ['settings', 'selftest']],
    [[''], COMMANDS.map((command) => command.name)],
    [['--v'], ['--version', '--verbose']],
    [
      ['settings', ''],
      ['list', 'init', 'check', 'schema', 'upgrade', 'send', 'receive'],
    ],
    [['settings', 'c'], ['check']],
    [['--json', 'settings', 'u'], ['upgrade']],
    [['settings', '-o', 'x.yaml', 'i'], ['init']],
    [['settings', 'check', ''], []],
    [['settings', 'list', '-o', ''], []],
    [['settings', 'list', '--o'], ['--out']],
    [
      ['completion', ''],
      ['bash', 'zsh'],
    ],
    [['nonsense', 'x'], []],
  ])('of %j offers %j', async (words, candidates) => {
    const { exit, out } = await smirr('--complete', ...words);
    expect(exit).toBe(0);
    expect(out.split('\n').filter((line) => line !== '')).toEqual(candidates);
  });

  it('has a script for each shell', async () => {
    expect((await smirr('completion', 'bash')).out).toContain('complete -o default -F');
    expect((await smirr('completion', 'zsh')).out).toMatch(/^#compdef smirr\n/u);
    expect(await errorOf('completion', 'fish', '-q')).toBe(
      'smirr: fish is no shell of smirr completion; it must be bash or zsh [E-USAGE-01]\n',
    );
  });
});

describe('the table of messages', () => {
  it('has a code of one form for each, and says what to do', () => {
    for (const [code, row] of Object.entries(MESSAGES)) {
      expect(code).toMatch(/^E-[A-Z]+-\d\d$/u);
      expect([1, 2, 3, 4, 5]).toContain(row.exit);
      expect(row.about.length).toBeGreaterThan(10);
      expect(row.remedy.length).toBeGreaterThan(10);
    }
  });
});

const CLI = fileURLToPath(new URL('../../dist/host-sim/cli.js', import.meta.url));

describe.skipIf(!existsSync(CLI))('the compiled command', () => {
  const runFile = promisify(execFile);

  it('begins with a shebang and gives data on stdout', async () => {
    expect(readFileSync(CLI, 'utf8').startsWith('#!/usr/bin/env node\n')).toBe(true);
    const { stdout, stderr } = await runFile(process.execPath, [CLI, 'settings', 'list']);
    expect(stdout).toMatch(/^setting +initial +range/u);
    expect(stderr).toBe('');
  });

  it('answers --version alone', async () => {
    const { stdout } = await runFile(process.execPath, [CLI, '--version']);
    expect(stdout).toMatch(/^smirr \d+\.\d+\.\d+\n$/u);
  });

  it('ends with the exit code of the frame', async () => {
    await expect(runFile(process.execPath, [CLI, 'settings', 'chekc'])).rejects.toMatchObject({
      code: 2,
      stdout: '',
      stderr: expect.stringContaining('did you mean check?') as string,
    });
  });

  it('ends quietly when its reader goes away', async () => {
    const child = spawn(process.execPath, [CLI, 'settings', 'list']);
    child.stdout.destroy();
    let err = '';
    child.stderr.on('data', (piece: Buffer) => (err += piece.toString()));
    const exit = await new Promise((resolve) => child.once('close', resolve));
    expect([exit, err]).toEqual([0, '']);
  });

  it.skipIf(!existsSync('/dev/full'))('says that its output cannot be written', async () => {
    const full = openSync('/dev/full', 'w');
    const child = spawn(process.execPath, [CLI, 'settings', 'list'], {
      stdio: ['ignore', full, 'pipe'],
    });
    closeSync(full);
    let err = '';
    child.stderr?.on('data', (piece: Buffer) => (err += piece.toString()));
    const exit = await new Promise((resolve) => child.once('close', resolve));
    expect([exit, err]).toEqual([3, 'smirr: the output cannot be written (ENOSPC) [E-FILE-04]\n']);
  });

  it('ends with 130 when it is interrupted', async () => {
    // Tells us when the interrupt is being listened to; standard input stays open, so it waits.
    const hook = `process.on('newListener', (name) => {
      if (name === 'SIGINT') setImmediate(() => process.stderr.write('listening'));
    });`;
    const child = spawn(process.execPath, [
      '--import',
      `data:text/javascript,${encodeURIComponent(hook)}`,
      CLI,
      'settings',
      'check',
      '-',
    ]);
    child.stderr.once('data', () => child.kill('SIGINT'));
    const ended = await new Promise((resolve) =>
      child.once('close', (code, signal) => resolve(code ?? signal)),
    );
    expect(ended).toBe(130);
  });
});
