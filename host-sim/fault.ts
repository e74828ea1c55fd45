/**
 * What the tool says when it cannot go on: one clear sentence with a stable code. Every code is a
 * row of the table in messages.ts, from which docs/messages.md is made; `Fault` carries the exit
 * code and the place (file, row, column) for `--json`.
 */
import { MESSAGES, type MessageCode } from './messages.js';

export class Fault extends Error {
  readonly code: MessageCode;
  readonly exit: number;
  readonly file: string | undefined;
  readonly row: number | undefined;
  readonly column: string | undefined;
  /** Further faults of the same input, in order; only a few of them are shown. */
  others: readonly Fault[] = [];

  /** `sentence` names file, place, value and bound; it is shown to the user as it is. */
  constructor(
    code: MessageCode,
    sentence: string,
    place: { file?: string; row?: number; column?: string } = {},
  ) {
    super(sentence);
    this.name = 'Fault';
    this.code = code;
    this.exit = MESSAGES[code].exit;
    this.file = place.file;
    this.row = place.row;
    this.column = place.column;
  }
}

/** The first of several faults, carrying the others. `faults` is not empty. */
export function firstOf(faults: readonly Fault[]): Fault {
  const [first, ...others] = faults;
  first.others = others;
  return first;
}
