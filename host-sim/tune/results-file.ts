/**
 * Reading and writing results files. While a search runs, its lines go to FILE.partly, each on its way
 * to the disk before the next run is counted, so that nothing is lost when it is stopped; when it ends
 * the file gets its name. A file is read line by line: its length does not matter.
 */
import {
  closeSync,
  createReadStream,
  existsSync,
  ftruncateSync,
  openSync,
  renameSync,
  unlinkSync,
  writeSync,
} from 'node:fs';
import { Fault } from '../fault.js';
import { readingFault } from '../files.js';
import { version } from '../version.js';
import {
  lineOf,
  parsed,
  RESULTS_KIND,
  RESULTS_VERSION,
  Seal,
  type End,
  type Head,
} from './results.js';

/** Where the results of an unfinished search are kept. */
export function partlyPath(path: string): string {
  return `${path}.partly`;
}

/** The results of a search that runs; kept whatever ends it. */
export class ResultsWriter {
  private readonly path: string;
  private readonly handle: number;
  private readonly seal = new Seal();

  /**
   * Begins `path`.partly, or goes on behind its first `keptBytes` bytes, whose lines the caller adds
   * with `kept`. Throws E-FILE-04.
   */
  constructor(path: string, keptBytes = 0) {
    this.path = path;
    try {
      this.handle = openSync(partlyPath(path), keptBytes > 0 ? 'r+' : 'w');
      if (keptBytes > 0) ftruncateSync(this.handle, keptBytes);
      this.position = keptBytes;
    } catch (error) {
      throw writingFault(partlyPath(path), error);
    }
  }

  private position: number;

  /** Says that this line is in the file already. */
  kept(line: string, isResult: boolean): void {
    this.seal.add(line, isResult);
  }

  add(line: string, isResult: boolean): void {
    this.seal.add(line, isResult);
    this.write(line);
  }

  private write(line: string): void {
    const bytes = Buffer.from(line);
    try {
      for (let at = 0; at < bytes.length;) {
        at += writeSync(this.handle, bytes, at, bytes.length - at, this.position + at);
      }
    } catch (error) {
      throw writingFault(partlyPath(this.path), error);
    }
    this.position += bytes.length;
  }

  /** Ends the file and gives it its name. */
  finish(): void {
    this.write(lineOf(this.seal.end()));
    closeSync(this.handle);
    renameSync(partlyPath(this.path), this.path);
  }

  /** The search is done and its results went elsewhere. */
  discard(): void {
    closeSync(this.handle);
    unlinkSync(partlyPath(this.path));
  }
}

function writingFault(path: string, error: unknown): Fault {
  const { code } = error as NodeJS.ErrnoException;
  return new Fault('E-FILE-04', `${path} cannot be written (${code ?? String(error)})`, {
    file: path,
  });
}

/** A results file that is being read: its head, then its lines. */
export interface OpenResults {
  readonly path: string;
  readonly head: Head;
  readonly headLine: string;
  /** The results' lines, each with its line feed; the end's line is not among them. */
  readonly lines: AsyncGenerator<string, End | undefined>;
}

/**
 * Opens a results file and reads its head. Throws E-FILE-01 or -02, and E-TUNE-07 if it is no results
 * file or one of another version.
 */
export async function openResults(path: string): Promise<OpenResults> {
  const lines = wholeLines(path);
  const first = await lines.next();
  const headLine = first.done === true ? '' : first.value;
  const head = parsed(headLine) as Head | undefined;
  if (head?.kind !== RESULTS_KIND) {
    await lines.return(undefined);
    throw new Fault('E-TUNE-07', `${path} holds no results of smirr tune`, { file: path });
  }
  if (head.version !== RESULTS_VERSION || head.smirr !== version()) {
    await lines.return(undefined);
    throw new Fault(
      'E-TUNE-07',
      `${path} was made by smirr ${head.smirr}, format ${head.version}; this is ` +
        `${version()}, format ${RESULTS_VERSION}, whose results it cannot be joined with`,
      { file: path },
    );
  }
  return { path, head, headLine, lines: resultLines(lines) };
}

async function* resultLines(
  lines: AsyncGenerator<string>,
): AsyncGenerator<string, End | undefined> {
  for await (const line of lines) {
    if (line.startsWith('{"end":')) return parsed(line) as End | undefined;
    yield line;
  }
  return undefined;
}

/** Every line that has its end; what was cut off behind the last line feed is left out. */
async function* wholeLines(path: string): AsyncGenerator<string> {
  const stream = createReadStream(path, { encoding: 'utf8' });
  let rest = '';
  try {
    for await (const piece of stream as AsyncIterable<string>) {
      const lines = (rest + piece).split('\n');
      rest = lines.pop() ?? '';
      for (const line of lines) yield `${line}\n`;
    }
  } catch (error) {
    throw readingFault(path, error);
  } finally {
    stream.destroy();
  }
}

/** True if an earlier search left results under this name. */
export function hasPartly(path: string): boolean {
  return existsSync(partlyPath(path));
}
