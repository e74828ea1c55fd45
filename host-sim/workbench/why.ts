/**
 * "Why not here?": the order of reasons at one tick, as the core left it. Takes a core that has just
 * made the tick, gives a line for every rule that may stop an automatic spray, in the order in which
 * the core reports them: what was measured, what it was held against, by how much, and whether it
 * passed, stopped the spray, or would have stopped it too. Nothing is decided here: the verdicts are
 * the core's own; only the numbers beside them are read out of its state.
 */
import type { Core } from '../../controller/core.js';
import { Health, HEALTH_WORDS, INPUTS, type Readings } from '../../controller/readings.js';
import { Kind, KIND_WORDS, Reason, REASONS } from '../../controller/reasons.js';
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import { clock } from '../report/format.js';
import { CUTOFF_NUMBERS } from './why-cutoffs.js';
import type { Numbers, Seen } from './why-numbers.js';
import { WAITING_NUMBERS } from './why-waiting.js';

export type Verdict =
  /** The reason of this tick. */
  | 'stopped'
  /** It forbids spraying too, behind the reason. */
  | 'also'
  /** It allowed it. */
  | 'passed'
  /** The core did not come so far: an earlier rule had decided. */
  | 'not reached';

export interface Step extends Numbers {
  readonly id: string;
  readonly group: 'cutoff' | 'waiting' | 'rest';
  readonly verdict: Verdict;
  /** The rule in a clause: what is the matter when it stops the spray. */
  readonly sentence: string;
}

export interface Explanation {
  readonly atMs: number;
  /** The word of REASONS. */
  readonly reason: string;
  readonly sprays: boolean;
  /** What the core wanted to spray, 'none' where something but a cutoff held it back. */
  readonly wanted: string;
  /** Rules that speak of the button instead, where it is pressed. */
  readonly forButton: boolean;
  /** One sentence for whoever reads nothing else. */
  readonly sentence: string;
  readonly steps: readonly Step[];
  /** Inputs whose reading is not believed, in words. */
  readonly unhealthy: readonly string[];
}

/** Explains the tick that `core` has just made of `readings`. */
export function explainTick(core: Core, readings: Readings, atMs: number): Explanation {
  const { output, burst, health } = core.state;
  const reason = REASONS[output.reason].id;
  const seen: Seen = { core, readings };
  const sprays = output.pump === 1;
  const forButton = health.button === 1;
  const steps = [...cutoffSteps(seen), ...waitingSteps(seen)];
  return {
    atMs,
    reason,
    sprays,
    wanted: KIND_WORDS[sprays ? core.state.account.kind : burst.proposal],
    forButton,
    sentence: sentenceFor(atMs, reason, sprays, steps),
    steps,
    unhealthy: unhealthyInputs(core),
  };
}

function cutoffSteps(seen: Seen): Step[] {
  const { core } = seen;
  const { cutoffs, output, health } = core.state;
  const kind = health.button === 1 ? Kind.Manual : Kind.Automatic;
  // Either kind may be the reason while the button is pressed; what stops neither has passed.
  const stops = core.rules.cutoffs.stops[kind] | core.rules.cutoffs.stops[Kind.Automatic];
  return CUTOFFS.map(({ id }, bit) => {
    const holds = (cutoffs.active & stops & (1 << bit)) !== 0;
    const isReason = (output.reason as number) === (Reason.FirstCutoff as number) + bit;
    return {
      id,
      group: 'cutoff' as const,
      verdict: isReason ? ('stopped' as const) : holds ? ('also' as const) : ('passed' as const),
      sentence: REASONS[Reason.FirstCutoff + bit].sentence,
      ...CUTOFF_NUMBERS[bit](seen),
    };
  });
}

/** The reasons behind the cutoffs are one decision: the first that holds ends it. */
function waitingSteps(seen: Seen): Step[] {
  const { burst, output, health } = seen.core.state;
  const isPressed = health.button === 1 && burst.holdsManual !== Reason.None;
  const held = isPressed ? burst.holdsManual : burst.holdsAutomatic;
  return WAITING_NUMBERS.map(({ reason, numbers }) => {
    const { id, group, sentence } = REASONS[reason];
    const isHeld = held === reason && output.pump === 0;
    const verdict: Verdict =
      output.reason === reason
        ? 'stopped'
        : isHeld
          ? 'also'
          : output.pump === 1 || reason < held || held === Reason.None
            ? 'passed'
            : 'not reached';
    return { id, group: group as Step['group'], verdict, sentence, ...numbers(seen) };
  });
}

function sentenceFor(
  atMs: number,
  reason: string,
  sprays: boolean,
  steps: readonly Step[],
): string {
  const at = `At ${clock(atMs, 2)}`;
  if (sprays)
    return `${at} it sprays: nothing forbids it, and the thresholds, or the button, ask for it.`;
  const step = steps.find(({ verdict }) => verdict === 'stopped');
  if (step === undefined) return `${at} it does not spray; the reason is ${reason}.`;
  const numbers = step.against === '' ? step.measured : `${step.measured}, against ${step.against}`;
  const by = step.margin === '' ? '' : `; ${step.margin}`;
  return `${at} it does not spray because ${step.sentence} (${numbers}${by}).`;
}

function unhealthyInputs({ state, calibration }: Core): string[] {
  return INPUTS.flatMap((name, index) => {
    const health = (state.health.word >> (3 * index)) & 7;
    const isFitted = (calibration.fitted & (1 << index)) !== 0;
    return isFitted && health !== Health.Ok ? [`${name} ${HEALTH_WORDS[health]}`] : [];
  });
}
