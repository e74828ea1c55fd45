/**
 * Parts of a search put together: the same bytes as if one call had made them all. Every part is read
 * through first, so that nothing is written unless the whole is there; then their lines are taken in
 * turn, since part i of n holds every n-th candidate. Memory does not grow with their length.
 */
import { Fault } from '../fault.js';
import { openResults } from './results-file.js';
import { lineOf, Seal, type Head } from './results.js';

interface Part {
  readonly path: string;
  readonly head: Head;
}

/**
 * Gives the joined lines to `write`. Throws E-TUNE-07 for what are no results of this version, E-TUNE-08
 * for parts that are missing, repeated, unfinished, damaged or foreign.
 */
export async function mergeParts(
  paths: readonly string[],
  write: (text: string) => void,
): Promise<void> {
  const parts: Part[] = [];
  for (const path of paths) parts.push({ path, head: await checkPart(path) });
  const ordered = inOrder(parts);
  const seal = new Seal();
  const put = (line: string, isResult: boolean) => {
    seal.add(line, isResult);
    write(line);
  };
  put(lineOf({ ...ordered[0].head, shard: [1, 1] }), false);
  await takeInTurn(ordered, (line) => put(line, true));
  write(lineOf(seal.end()));
}

/** Reads a finished results file through; gives its head. Throws E-TUNE-07 and E-TUNE-08. */
export async function checkPart(path: string): Promise<Head> {
  const { head, headLine, lines } = await openResults(path);
  const seal = new Seal();
  seal.add(headLine, false);
  let next = await lines.next();
  for (; next.done !== true; next = await lines.next()) seal.add(next.value, true);
  const said = next.value;
  const name = `${path}, part ${head.shard.join('/')},`;
  if (said === undefined) {
    const sentence = `${name} is not finished: it ends after ${seal.runs} runs`;
    throw new Fault('E-TUNE-08', sentence, { file: path });
  }
  const found = seal.end();
  if (said.runs !== found.runs || said.sha256 !== found.sha256) {
    const sentence = `${name} is damaged: its lines are not those that its last line was made of`;
    throw new Fault('E-TUNE-08', sentence, { file: path });
  }
  return head;
}

/** The parts by their number: all of one search, each once, none missing. */
function inOrder(parts: readonly Part[]): Part[] {
  const [first] = parts;
  const count = first.head.shard[1];
  const byNumber: Part[] = [];
  for (const part of parts) {
    const [i, n] = part.head.shard;
    if (part.head.job !== first.head.job || n !== count) throw foreignPart(first, part);
    const other = byNumber[i - 1];
    if (other) {
      const sentence = `${part.path} is part ${i}/${n} again, as ${other.path} is`;
      throw new Fault('E-TUNE-08', sentence, { file: part.path });
    }
    byNumber[i - 1] = part;
  }
  for (let i = 1; i <= count; i++) {
    if (byNumber[i - 1]) continue;
    throw new Fault(
      'E-TUNE-08',
      `part ${i}/${count} is missing; ${parts.length} of ${count} are here`,
    );
  }
  return byNumber;
}

function foreignPart(first: Part, part: Part): Fault {
  const [i, n] = part.head.shard;
  const why =
    part.head.job === first.head.job
      ? `it is part ${i}/${n}, and ${first.path} is one of ${first.head.shard[1]}`
      : 'its traces, settings, values or seed are others';
  return new Fault('E-TUNE-08', `${part.path} does not belong to ${first.path}: ${why}`, {
    file: part.path,
  });
}

async function takeInTurn(parts: readonly Part[], take: (line: string) => void): Promise<void> {
  const opened = await Promise.all(parts.map(({ path }) => openResults(path)));
  for (let n = 0; ; n++) {
    const { lines, path } = opened[n % opened.length];
    const next = await lines.next();
    if (next.done === true) {
      await expectEnd(opened, n);
      return;
    }
    if (!next.value.startsWith(`{"n":${n},`)) throw outOfTurn(path, n);
    take(next.value);
  }
}

/** When one part ends, the others must have ended with it. */
async function expectEnd(
  opened: readonly Awaited<ReturnType<typeof openResults>>[],
  n: number,
): Promise<void> {
  for (const { lines, path } of opened) {
    if ((await lines.next()).done !== true) throw outOfTurn(path, n);
  }
}

function outOfTurn(path: string, n: number): Fault {
  const sentence = `${path} does not go on where the other parts are: run ${n} is not in its place`;
  return new Fault('E-TUNE-08', sentence, { file: path });
}
