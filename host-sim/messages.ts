/**
 * Every message a user can meet, by its stable code: the exit code it ends with and what it is
 * about. docs/messages.md is made from this table. A code, once given, is never reused.
 * Exit codes: 2 usage; 3 a file or value is bad; 4 port or device; 5 our own fault.
 */
export interface MessageRow {
  readonly exit: 1 | 2 | 3 | 4 | 5;
  /** What happened, in general. */
  readonly about: string;
  /** What the reader can do. */
  readonly remedy: string;
}

export const MESSAGES = {
  'E-USAGE-01': {
    exit: 2,
    about: 'an unknown command or option',
    remedy: 'the message names the nearest one; see --help',
  },
  'E-INTERNAL-01': {
    exit: 5,
    about: 'a fault of smirr itself',
    remedy: 'please report it with the command line; --verbose shows where it happened',
  },
} as const satisfies Record<string, MessageRow>;

export type MessageCode = keyof typeof MESSAGES;
