/**
 * Plain words for what a tick reports. A reason is its id (as in a tick record) plus four things
 * said about it: its kind (which decides its texture in the picture), the word for the picture,
 * the clause for tables, and for a cutoff the subject of "... forbade spraying". An id this table
 * does not know is shown as it is.
 */

/** Kinds of reason, the ones that must not be lost in a picture first. */
export const KINDS = ['cutoff', 'spray', 'rest', 'waiting'] as const;
export type Kind = (typeof KINDS)[number];

export interface ReasonWords {
  readonly kind: Kind;
  /** One or two words, for the picture. */
  readonly label: string;
  /** A clause in the past tense that follows "because". */
  readonly because: string;
  /** A cutoff only: the subject of "forbade spraying". */
  readonly subject?: string;
  /** A cutoff only: the object of that sentence. */
  readonly stops?: string;
}

const spray = (label: string, because: string): ReasonWords => ({ kind: 'spray', label, because });
const rest = (label: string, because: string): ReasonWords => ({ kind: 'rest', label, because });
const wait = (label: string, because: string): ReasonWords => ({ kind: 'waiting', label, because });
const cutoff = (
  label: string,
  because: string,
  subject: string,
  stops = 'spraying',
): ReasonWords => ({ kind: 'cutoff', label, because, subject, stops });
const AUTOMATIC = 'automatic spraying';

const WORDS: Readonly<Record<string, ReasonWords>> = {
  'spray-automatic': spray('spray', 'the thresholds asked for mist'),
  'spray-manual': spray('button', 'the button asked for a burst'),
  'spray-precool': spray('pre-cool', 'heat was soaking in at standstill'),
  'spray-service': spray('service', 'the button was held in service mode'),

  disarmed: cutoff('disarmed', 'the arm switch was open', 'the open arm switch'),
  'engine-stopped': cutoff(
    'engine stopped',
    'the engine stood still, or its speed was not known',
    'a stopped engine or an unknown engine speed',
  ),
  'sensor-lost': cutoff(
    'sensor lost',
    'boost or charge could not be trusted',
    'a lost sensor',
    AUTOMATIC,
  ),
  'late-input': cutoff('late input', 'a needed reading came late', 'a late reading'),
  freezing: cutoff(
    'freezing',
    'water could have frozen, or the ambient was not known',
    'the risk of frost or an unknown ambient',
  ),
  'too-cool': cutoff(
    'too cool',
    'the charge was under floor, or not known',
    'a cool or unknown charge',
    AUTOMATIC,
  ),
  'burst-length': cutoff('burst length', 'one spray had lasted maxBurst', 'the limit of one burst'),
  duty: cutoff('duty', 'the window had its share of spray', 'the duty limit'),
  standstill: cutoff(
    'standstill',
    'the water for standstill was used up, or the speed was not known',
    'the standstill limit or an unknown speed',
    AUTOMATIC,
  ),
  reserve: cutoff('reserve', 'only the reserve was left', 'the reserve', AUTOMATIC),
  'tank-empty': cutoff(
    'tank empty',
    'the tank was empty, or its level not known',
    'an empty tank or an unknown level',
  ),
  supply: cutoff(
    'supply',
    'the supply voltage was out of bounds, or not known',
    'the supply voltage',
  ),
  'pump-circuit': cutoff('pump circuit', 'the pump did not obey', 'a faulty pump circuit'),
  'button-stuck': cutoff(
    'button stuck',
    'the button stayed closed for 10 s',
    'a stuck button',
    'spraying by the button',
  ),
  'not-allowed': cutoff(
    'not allowed',
    'the event settings forbid it',
    'the event settings',
    'this kind of spray',
  ),
  'bad-settings': cutoff('bad settings', 'the settings failed their check', 'a bad settings block'),
  'unexpected-reset': cutoff('reset', 'the device had restarted unexpectedly', 'a restart'),
  'late-tick': cutoff('late tick', 'the core was called late', 'a late tick'),
  'core-fault': cutoff('core fault', 'the core failed its self-check', 'a fault of the core'),

  'road-mode': wait('road', 'the stage switch was open: button only'),
  'no-temperature': wait('not hot', 'the charge was under tempOn'),
  'no-engine-speed': wait('low revs', 'engine speed was under rpmOn'),
  'no-boost': wait('no boost', 'boost was under boostOn'),
  'too-humid': wait('humid', 'the air had no room for vapour'),

  resting: rest('rest', 'a burst is followed by a rest'),
  'no-room': rest('no room', 'the window had no room for a whole burst'),
  rationed: rest('rationed', 'the water must last for the stage'),
};

/** The words for a reason or cutoff id; never fails. */
export function wordsFor(id: string): ReasonWords {
  const known = Object.hasOwn(WORDS, id) ? WORDS[id] : undefined;
  if (known !== undefined) return known;
  const kind: Kind = id.startsWith('spray-') ? 'spray' : 'waiting';
  return { kind, label: id, because: id, subject: id };
}

/** Every id with words, in the table's order: for tests and documentation. */
export const WORDED_IDS: readonly string[] = Object.keys(WORDS);

/** The texture of each kind, as the caption says it. */
export const TEXTURES: Readonly<Record<Kind, string>> = {
  spray: 'solid',
  rest: 'dotted',
  cutoff: 'hatched',
  waiting: 'plain',
};
