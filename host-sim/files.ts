/**
 * Reading and writing files for every command. A file is written whole or not at all: into a
 * temporary file beside it, then renamed. What the file system refuses becomes a `Fault` with one
 * sentence; a file's name is shown as the user wrote it.
 */
import { randomBytes } from 'node:crypto';
import { closeSync, fchmodSync, openSync, renameSync, unlinkSync, writeSync } from 'node:fs';
import { open, realpath, rename, stat, unlink } from 'node:fs/promises';
import { basename, dirname, join, resolve } from 'node:path';
import type { Readable } from 'node:stream';
import { Fault } from './fault.js';

/** Temporary files that are not renamed yet; an interrupt removes them. */
const unfinished = new Set<string>();

/** Removes what an interrupted `writeWhole` would leave behind; for the end of the process only. */
export function removeUnfinished(): void {
  for (const path of unfinished) {
    try {
      unlinkSync(path);
    } catch {
      // It is gone already, or its folder is: nothing is left to remove.
    }
  }
  unfinished.clear();
}

/** Throws E-USAGE-02 if standard input (`-`) is asked for by more than one of these. */
export function checkInputOnce(paths: readonly (string | undefined)[]): void {
  if (paths.filter((path) => path === '-').length > 1) {
    throw new Fault('E-USAGE-02', 'standard input (-) can be read only once');
  }
}

/** True if both paths name one existing file, however they are written. */
export async function isSameFile(one: string, other: string): Promise<boolean> {
  try {
    const [a, b] = await Promise.all([stat(one), stat(other)]);
    return a.dev === b.dev && a.ino === b.ino;
  } catch {
    return false;
  }
}

/** What two paths have in common if they name one file; undefined for a device or a pipe, which takes all. */
async function placeOf(path: string): Promise<string | undefined> {
  const status = await statOrNothing(path);
  if (status !== undefined) return status.isFile() ? `${status.dev} ${status.ino}` : undefined;
  const folder = await realpath(dirname(path)).catch(() => resolve(dirname(path)));
  return join(folder, basename(path));
}

/**
 * Two results in one file would leave only the later one. Takes what each is called and its path, which need
 * not be there. Throws E-USAGE-02 that names both and the file.
 */
export async function checkApart(
  results: readonly (readonly [name: string, path: string | undefined])[],
): Promise<void> {
  const taken = new Map<string, string>();
  for (const [name, path] of results) {
    const place = path === undefined ? undefined : await placeOf(path);
    if (place === undefined) continue;
    const other = taken.get(place);
    if (other !== undefined) {
      const sentence = `${other} and ${name} both go to ${path}; give each its own file`;
      throw new Fault('E-USAGE-02', sentence);
    }
    taken.set(place, name);
  }
}

/** True if something stands at `path`. */
export async function exists(path: string): Promise<boolean> {
  return (await statOrNothing(path)) !== undefined;
}

/**
 * Writes `data` to `path` as a whole or not at all. Folders are not made. `inputs` are files of the
 * same command that must not be overwritten by its result (`-` among them means nothing). A link is
 * followed; a device or pipe such as /dev/null is written to directly. Throws E-FILE-04 or E-FILE-05.
 */
export async function writeWhole(
  path: string,
  data: string | Uint8Array,
  inputs: readonly string[] = [],
): Promise<void> {
  await refuseInputs(path, inputs);
  try {
    await replaceFile(path, data);
  } catch (error) {
    throw await writingFault(path, error);
  }
}

async function refuseInputs(path: string, inputs: readonly string[]): Promise<void> {
  for (const input of inputs) {
    if (!(await isSameFile(path, input))) continue;
    const sentence = `${path} is an input of this command and is not overwritten`;
    throw new Fault('E-FILE-05', sentence, { file: path });
  }
}

/** How the path of an input is named in sentences. */
export function shownName(path: string): string {
  return path === '-' ? 'standard input' : path;
}

/** The bytes of a file, or of `input` if `path` is `-`. Throws E-FILE-01 to E-FILE-03. */
export async function readBytes(
  path: string,
  input: Readable,
  limitBytes: number,
): Promise<Uint8Array> {
  if (path === '-') return collect(input, shownName(path), limitBytes);
  let file;
  try {
    file = await open(path, 'r');
    const status = await file.stat();
    if (status.isDirectory()) {
      throw new Fault('E-FILE-02', `${path} is a folder, not a file`, { file: path });
    }
    if (status.size > limitBytes) throw tooLong(path, limitBytes);
    return await collect(file.createReadStream({ autoClose: false }), path, limitBytes);
  } catch (error) {
    throw readingFault(path, error);
  } finally {
    await file?.close();
  }
}

async function collect(source: Readable, name: string, limitBytes: number): Promise<Uint8Array> {
  const pieces: Uint8Array[] = [];
  let length = 0;
  for await (const piece of source as AsyncIterable<Uint8Array>) {
    length += piece.length;
    if (length > limitBytes) throw tooLong(name, limitBytes);
    pieces.push(piece);
  }
  return Buffer.concat(pieces, length);
}

function tooLong(name: string, limitBytes: number): Fault {
  const limit = `${Math.floor(limitBytes / 1024)} KB`;
  return new Fault(
    'E-FILE-03',
    `${name} is longer than ${limit}, the most this kind of file may be`,
    {
      file: name,
    },
  );
}

/** The fault for what `open`, `stat` or a read threw; a `Fault` is given back as it is. */
export function readingFault(path: string, error: unknown): Fault {
  if (error instanceof Fault) return error;
  const code = (error as NodeJS.ErrnoException).code;
  if (code === 'ENOENT' || code === 'ENOTDIR') {
    return new Fault('E-FILE-01', `${path} is not there: no such file`, { file: path });
  }
  if (code === 'EISDIR') {
    return new Fault('E-FILE-02', `${path} is a folder, not a file`, { file: path });
  }
  return new Fault('E-FILE-02', `${path} cannot be read (${code ?? String(error)})`, {
    file: path,
  });
}

async function writingFault(path: string, error: unknown): Promise<Fault> {
  const code = (error as NodeJS.ErrnoException).code;
  const folder = dirname(path);
  const place = { file: path };
  if (code === 'EISDIR') return new Fault('E-FILE-04', `${path} is a folder, not a file`, place);
  if ((code === 'ENOENT' || code === 'ENOTDIR') && !(await isFolder(folder))) {
    const sentence = `${path} cannot be written: there is no folder ${folder}`;
    return new Fault('E-FILE-04', sentence, place);
  }
  return new Fault('E-FILE-04', `${path} cannot be written (${code ?? String(error)})`, place);
}

async function isFolder(path: string): Promise<boolean> {
  return (await statOrNothing(path))?.isDirectory() === true;
}

async function statOrNothing(path: string) {
  try {
    return await stat(path);
  } catch {
    return undefined;
  }
}

async function replaceFile(path: string, data: string | Uint8Array): Promise<void> {
  const status = await statOrNothing(path);
  if (status?.isDirectory()) throw Object.assign(new Error(path), { code: 'EISDIR' });
  if (status && !status.isFile()) return writeAll(path, 'w', data, 0o666);
  // Renaming over a link would replace the link; the file it names is what the user means.
  const target = status ? await realpath(path) : path;
  const temporary = temporaryBeside(target);
  unfinished.add(temporary);
  try {
    await writeAll(temporary, 'wx', data, status ? status.mode & 0o777 : 0o666);
    await rename(temporary, target);
  } catch (error) {
    await unlink(temporary).catch(() => undefined);
    throw error;
  } finally {
    unfinished.delete(temporary);
  }
}

function temporaryBeside(path: string): string {
  return join(dirname(path), `.smirr-${randomBytes(6).toString('hex')}.part`);
}

async function writeAll(
  path: string,
  flags: string,
  data: string | Uint8Array,
  mode: number,
): Promise<void> {
  const file = await open(path, flags, mode);
  try {
    await file.writeFile(data);
  } finally {
    await file.close();
  }
}

/**
 * A long file written piece by piece, whole or not at all: pieces go to a temporary file beside it,
 * which `commit` puts in its place and `abandon` removes. Throws E-FILE-04 or E-FILE-05.
 */
export class WholeFile {
  private readonly path: string;
  private readonly temporary: string | undefined;
  private readonly handle: number;

  private constructor(path: string, temporary: string | undefined, handle: number) {
    this.path = path;
    this.temporary = temporary;
    this.handle = handle;
  }

  /** Opens it for writing; `inputs` are files of the same command that must not be overwritten. */
  static async open(path: string, inputs: readonly string[] = []): Promise<WholeFile> {
    await refuseInputs(path, inputs);
    try {
      const status = await statOrNothing(path);
      if (status?.isDirectory()) throw Object.assign(new Error(path), { code: 'EISDIR' });
      if (status && !status.isFile()) return new WholeFile(path, undefined, openSync(path, 'w'));
      const target = status ? await realpath(path) : path;
      const temporary = temporaryBeside(target);
      const handle = openSync(temporary, 'wx');
      unfinished.add(temporary);
      if (status) fchmodSync(handle, status.mode & 0o777);
      return new WholeFile(target, temporary, handle);
    } catch (error) {
      throw await writingFault(path, error);
    }
  }

  /** Adds a piece; it is on its way to the disk when this returns. */
  write(text: string): void {
    const bytes = Buffer.from(text);
    for (let at = 0; at < bytes.length;) at += writeSync(this.handle, bytes, at);
  }

  /** Puts the finished file in its place. */
  commit(): void {
    closeSync(this.handle);
    if (this.temporary === undefined) return;
    try {
      renameSync(this.temporary, this.path);
    } catch (error) {
      unlinkSync(this.temporary);
      throw error;
    } finally {
      unfinished.delete(this.temporary);
    }
  }

  /** Leaves nothing behind. */
  abandon(): void {
    closeSync(this.handle);
    if (this.temporary === undefined) return;
    unlinkSync(this.temporary);
    unfinished.delete(this.temporary);
  }
}

/**
 * Finds out before long work whether its results could be written: each of `paths` that is named is opened
 * and left as it was (`-` means standard output). Throws E-FILE-04 or E-FILE-05.
 */
export async function checkWritable(
  paths: readonly (string | undefined)[],
  inputs: readonly string[] = [],
): Promise<void> {
  for (const path of paths) {
    if (path === undefined || path === '-') continue;
    const file = await WholeFile.open(path, inputs);
    file.abandon();
  }
}
