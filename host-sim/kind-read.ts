/**
 * The file system's side of kind-file.ts: the text of a file of our own, by its path or from standard
 * input.
 */
import type { Readable } from 'node:stream';
import { readBytes, shownName } from './files.js';
import { decodeKind, KIND_FILE_BYTES_MAX, type FileKind } from './kind-file.js';

/** The text of a file of `kind`, which may be none yet. Throws E-FILE-nn and the codes of the kind. */
export async function readKindText(path: string, input: Readable, kind: FileKind): Promise<string> {
  const bytes = await readBytes(path, input, KIND_FILE_BYTES_MAX);
  return decodeKind(bytes, shownName(path), kind);
}
