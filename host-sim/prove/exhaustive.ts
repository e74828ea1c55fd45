/**
 * Way 4, exhaustive: breadth first over the shipped `tick` itself, with the scaled limits and input
 * classes of scaled.ts, in every order, until no new state comes or the given number is reached. A
 * state is the core's and the monitor's together, brought to a normal form: times become ages, and an
 * age past every limit is all the same. The duty window, water and the memory of frost are taken back
 * to their start in every step: they have no end in sight, and are tried in the other ways. From every
 * state it must come back to spraying under good conditions. Small scope: it shows what it covers.
 */
import { LevelKind } from '../../controller/calibration.js';
import type { Settings } from '../../controller/settings.js';
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import { BASE_MS, normaliseCore, normaliseMonitor } from './normal-form.js';
import { Player } from './player.js';
import {
  alphabetOf,
  SCALED_CONTRACT,
  SCALED_LIMITS,
  scaledSettings,
  viewsFor,
  type Letter,
  type View,
} from './scaled.js';
import type { Subject } from './subject.js';
import type { Pace } from './try-out.js';

/** Good conditions for this long must lead to a spray from anywhere. */
const RECOVERY_TICKS = 250;
const DISARMED_TICKS = 12;

/** What one view came to. */
export interface ViewResult {
  readonly view: string;
  readonly letters: number;
  readonly states: number;
  readonly transitions: number;
  /** No new state was left to look at. */
  readonly isComplete: boolean;
  /** States from which it came back to spraying, and the longest that took, ms. */
  readonly recovered: number;
  readonly recoveryMsMax: number;
  /** Cutoffs that came in force: of no others does the view say anything. */
  readonly cameInForce: readonly string[];
}

export interface ExhaustiveViolation {
  readonly view: string;
  readonly property: string;
  readonly sentence: string;
  /** The letters that lead there, one a tick. */
  readonly letters: readonly Letter[];
}

/** Explores one view. */
export class Explorer {
  readonly player: Player;
  readonly alphabet: readonly Letter[];
  violation: ExhaustiveViolation | undefined;
  private readonly base: Int32Array;
  private readonly vector: Int32Array;
  private readonly coreSize: number;
  /** Parent and letter of each state, to tell its way. */
  private readonly parents: number[] = [-1];
  private readonly letters: number[] = [-1];

  constructor(
    private readonly subject: Subject,
    private readonly view: View,
    settings: Settings,
  ) {
    const car = {
      settings: scaledSettings(settings),
      fitted: view.fitted,
      levelKind: LevelKind.Switch,
    };
    this.player = new Player(subject, car, SCALED_LIMITS, SCALED_CONTRACT);
    this.alphabet = alphabetOf(view);
    this.player.start({ tankUl: car.settings.tankUl });
    this.player.step();
    this.coreSize = subject.snapshot(this.player.core.state).length;
    this.vector = new Int32Array(this.coreSize + this.player.monitor.words.length);
    this.normalise();
    this.base = this.vector.slice();
  }

  /** Explores up to so many states. */
  explore(statesMax: number, pace: Pace): ViewResult {
    const states: string[] = [this.encode()];
    const known = new Map<string, number>([[states[0], 0]]);
    let transitions = 0;
    let recoveryMsMax = 0;
    let recovered = 0;
    let at = 0;
    for (; at < states.length && states.length < statesMax && !this.violation; at++) {
      if (pace.isOver()) break;
      const ms = this.recover(states[at], at);
      if (ms >= 0) recovered++;
      recoveryMsMax = Math.max(recoveryMsMax, ms);
      for (let index = 0; index < this.alphabet.length && !this.violation; index++) {
        transitions++;
        this.decode(states[at]);
        const broken = this.stepWith(this.alphabet[index]);
        if (broken >= 0) this.found(broken, at, index);
        this.normalise();
        const key = this.encode();
        if (known.has(key)) continue;
        known.set(key, states.length);
        this.parents[states.length] = at;
        this.letters[states.length] = index;
        states.push(key);
      }
    }
    const isComplete = at === states.length;
    const counts = { states: states.length, transitions, isComplete, recovered, recoveryMsMax };
    const { cameInForce } = this;
    return { view: this.view.name, letters: this.alphabet.length, ...counts, cameInForce };
  }

  private get cameInForce(): string[] {
    const { obligations, monitor } = this.player;
    return CUTOFFS.map(({ id }) => id).filter((id) => {
      const index = obligations.properties.findIndex((property) => property.id === id);
      return monitor.met[index] > 0;
    });
  }

  private stepWith({ readings, feedback }: Letter): number {
    const { player } = this;
    Object.assign(player.readings, player.goodReadings, readings);
    player.feedback = feedback ?? -1;
    player.monitor.refresh();
    // The normal form fills the tank again.
    player.told.refilled = 1;
    return player.step();
  }

  /** From a state, disarmed for a moment and then good conditions: how long until it sprays, ms. */
  private recover(state: string, index: number): number {
    this.decode(state);
    const { player, subject } = this;
    const { core } = player;
    // A pump that is stuck on is cleared by the self-test; bad settings and core faults are no view's.
    subject.clearPumpCircuit(core);
    for (let tick = 0; tick < RECOVERY_TICKS; tick++) {
      Object.assign(player.readings, player.goodReadings, { arm: tick < DISARMED_TICKS ? 0 : 1 });
      player.feedback = -1;
      player.tickOnly();
      if (tick >= DISARMED_TICKS && core.state.output.pump === 1) return tick * 20;
    }
    this.violation ??= {
      view: this.view.name,
      property: 'recovery',
      sentence: 'From every state it comes back to spraying under good conditions.',
      letters: this.wayTo(index),
    };
    return -1;
  }

  private found(broken: number, state: number, letter: number): void {
    const { id, sentence } = this.player.obligations.properties[broken];
    const letters = [...this.wayTo(state), this.alphabet[letter]];
    this.violation = { view: this.view.name, property: id, sentence, letters };
  }

  private wayTo(state: number): Letter[] {
    const way: Letter[] = [];
    for (let at = state; at > 0; at = this.parents[at]) way.push(this.alphabet[this.letters[at]]);
    return way.reverse();
  }

  /** Brings core and monitor to their normal form and copies it into `vector`. */
  private normalise(): void {
    const { player, subject } = this;
    const { core, monitor } = player;
    normaliseCore(core, player.car.settings.tankUl);
    const { burst, cutoffs, account, self } = core.state;
    self.seal = subject.sealOf(burst, cutoffs, account);
    player.nextMs = BASE_MS + 20;
    normaliseMonitor(monitor.words, monitor.kinds);
    this.vector.set(subject.snapshot(core.state));
    this.vector.set(monitor.words, this.coreSize);
  }

  /** The vector as text: only where it differs from the first state. */
  private encode(): string {
    const codes: number[] = [];
    const { vector, base } = this;
    for (let index = 0; index < vector.length; index++) {
      const value = vector[index];
      if (value !== base[index]) codes.push(index, value & 0xffff, (value >> 16) & 0xffff);
    }
    return String.fromCharCode(...codes);
  }

  private decode(state: string): void {
    const { vector, base, player, subject } = this;
    vector.set(base);
    for (let at = 0; at < state.length; at += 3) {
      vector[state.charCodeAt(at)] = state.charCodeAt(at + 1) | (state.charCodeAt(at + 2) << 16);
    }
    subject.restore(player.core.state, Array.from(vector.subarray(0, this.coreSize)));
    player.monitor.words.set(vector.subarray(this.coreSize));
    player.monitor.refresh();
    player.nextMs = BASE_MS + 20;
  }
}

/** Every view; the first violation ends the search. */
export function tryAll(
  subject: Subject,
  settings: Settings,
  statesMax: number,
  pace: Pace,
): { results: ViewResult[]; violation: ExhaustiveViolation | undefined } {
  const views = viewsFor(settings);
  const results: ViewResult[] = [];
  for (const [index, view] of views.entries()) {
    const explorer = new Explorer(subject, view, settings);
    results.push(explorer.explore(statesMax, pace));
    pace.progress('exhaustive', (index + 1) / views.length);
    if (explorer.violation) return { results, violation: explorer.violation };
  }
  return { results, violation: undefined };
}
