/**
 * The kinds of fault that way 3 puts into a run, as data: what each does to the readings of a tick. A
 * fault sees the readings as they would have been and the number of ticks since it began.
 */
import { INPUTS, type InputName, type Readings } from '../../controller/readings.js';

export interface FaultKind {
  readonly name: string;
  /** The input it needs; absent if every car has it. */
  readonly input?: InputName;
  /** True if it takes the input away: with one input less, no more may be sprayed. */
  readonly takesAway?: boolean;
  /** Changes the readings of a tick; `first` holds them as they were when the fault began. */
  readonly apply: (readings: Readings, sinceTicks: number, first: Readings) => void;
  /** What the feedback does meanwhile: see `Channel` in plan.ts. */
  readonly feedback?: number;
  /** How long it lasts when it comes once, ticks. */
  readonly onceTicks: number;
}

const FIELDS: Readonly<Record<InputName, keyof Readings>> = {
  rpm: 'rpm',
  boost: 'boostHpa',
  charge: 'chargeDc',
  ambient: 'ambientDc',
  humidity: 'humidityPm',
  speed: 'speedDkmh',
  level: 'level',
  supply: 'supplyMv',
  feedback: 'feedback',
};

/** A value under the band, one over it, and how far noise swings. */
const BEYOND: Readonly<Record<InputName, readonly [low: number, high: number, noise: number]>> = {
  rpm: [-1, 15_001, 900],
  boost: [-1001, 5001, 300],
  charge: [-401, 2001, 60],
  ambient: [-401, 2001, 60],
  humidity: [-1, 1001, 200],
  speed: [-1, 5001, 60],
  level: [-1, 2, 1],
  supply: [-1, 40_001, 3000],
  feedback: [0, 1, 1],
};

/** 300 ms: longer than most debounces, shorter than the longest. */
const ONCE_TICKS = 15;

function inputKinds(input: InputName): FaultKind[] {
  const field = FIELDS[input];
  const index = INPUTS.indexOf(input);
  const [low, high, noise] = BEYOND[input];
  const kind = (name: string, apply: FaultKind['apply']): FaultKind => ({
    ...{ name: `${input} ${name}`, input, apply, onceTicks: ONCE_TICKS },
    takesAway: ['low', 'high', 'late', 'lost'].includes(name),
  });
  const told =
    (code: number): FaultKind['apply'] =>
    (readings) => {
      readings.faults |= code << (3 * index);
    };
  return [
    kind('low', (readings) => (readings[field] = low)),
    kind('high', (readings) => (readings[field] = high)),
    kind('jump', told(3)),
    kind('frozen', (readings, _ticks, first) => (readings[field] = first[field])),
    kind('late', (readings) => (readings.fresh &= ~(1 << index))),
    kind('lost', told(6)),
    kind('noise', (readings, ticks) => (readings[field] += ticks % 2 === 0 ? noise : -noise)),
  ];
}

function otherKinds(): FaultKind[] {
  const plain = (name: string, apply: FaultKind['apply'], onceTicks: number): FaultKind => ({
    ...{ name, apply, onceTicks },
  });
  const nothing = () => undefined;
  return [
    {
      ...plain('supply dip', (readings) => (readings.supplyMv = 8000), 12),
      input: 'supply',
    },
    plain('stuck button', (readings) => (readings.button = 1), 20),
    plain('arm switch open', (readings) => (readings.arm = 0), 3),
    plain('stage switch open', (readings) => (readings.stage = 0), 3),
    {
      ...plain(
        'level slosh',
        (readings, ticks) => (readings.level = Math.floor(ticks / 25) % 2),
        200,
      ),
      input: 'level',
    },
    plain('engine stops', (readings) => Object.assign(readings, { rpm: 0, boostHpa: 0 }), 40),
    { ...plain('frost', (readings) => (readings.ambientDc = 0), 60), input: 'ambient' },
    { ...plain('pump circuit open', nothing, 20), input: 'feedback', feedback: 0 },
    { ...plain('pump circuit stuck on', nothing, 20), input: 'feedback', feedback: 1 },
  ];
}

/** All of them. Feedback has kinds of its own among the others. */
export const FAULT_KINDS: readonly FaultKind[] = [
  ...INPUTS.filter((input) => input !== 'feedback').flatMap(inputKinds),
  ...otherKinds(),
];

/** Those that a car can have in which these inputs (bits of `Input`) are fitted. */
export function kindsFor(fitted: number): FaultKind[] {
  return FAULT_KINDS.filter(
    ({ input }) => input === undefined || (fitted & (1 << INPUTS.indexOf(input))) !== 0,
  );
}
