/**
 * The properties that the core is held to, as data: for each cutoff that it cuts off in time, and that
 * it lets go in time; and the contract's general properties, as far as a monitor can see them. Takes a
 * car (settings, calibration, contract), gives properties and reactions for `monitorOf`.
 */
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import { inForce, sharedOf, SPARES_SERVICE, stopsOf, type Cause, type Shared } from './cause.js';
import { causesOf } from './causes.js';
import {
  and,
  equal,
  FALSE,
  not,
  or,
  type Formula,
  type Property,
  type Reaction,
} from './formula.js';
import { generalProperties } from './general.js';
import { needsOf, timeText } from './needs.js';
import { trustOf, type Car } from './trust.js';

/** The spray that the cutoff stops is running. */
function stoppedSpray(id: string, car: Car, shared: Shared): Formula {
  const { automatic, manual, pump, isService } = shared;
  const { settings } = car;
  if (id === 'not-allowed') {
    const byHand = settings.manualAllowed === 0 ? manual : FALSE;
    return or(settings.automaticAllowed === 0 ? automatic : FALSE, byHand);
  }
  if (id === 'reserve' && settings.manualFromReserve === 0) return or(automatic, manual);
  const stops = stopsOf(id);
  if (stops === 'automatic') return automatic;
  if (stops === 'manual') return manual;
  return SPARES_SERVICE.includes(id) ? and(pump, not(isService)) : pump;
}

/** What must be true while the cutoff is in force: it is told, the spray is off, enable is open. */
function cutOff(id: string, car: Car, shared: Shared): Formula {
  const off = not(stoppedSpray(id, car, shared));
  if (stopsOf(id) !== 'all') return and(inForce(id), off);
  const open = equal('enable', 0);
  const opens = SPARES_SERVICE.includes(id) ? or(open, shared.isService) : open;
  return and(inForce(id), off, opens);
}

/** What does not spray while the cutoff is in force, in words. */
function stoppedText(id: string, { settings }: Car): string {
  if (id === 'reserve' && settings.manualFromReserve === 0) {
    return 'nothing sprays automatically, and the button sprays nothing';
  }
  return {
    all: 'nothing sprays',
    automatic: 'nothing sprays automatically',
    manual: 'the button sprays nothing',
  }[stopsOf(id)];
}

const FORBIDDEN =
  'Where automaticAllowed is no, nothing sprays automatically; where manualAllowed is no, the button sprays nothing; from the first tick on and for good.';

function sentencesOf(
  id: string,
  causes: readonly Cause[],
  car: Car,
): { cuts: string; letsGo: string } {
  const row = CUTOFFS.find((each) => each.id === id)!;
  const when = causes.map(({ words, onsetMs }) => {
    const needs = needsOf(words, car);
    const debounce = onsetMs === 0 ? '' : ` for ${timeText(onsetMs)}`;
    return `${words}${debounce}${needs === '' ? '' : ` (which itself needs ${needs})`}`;
  });
  const cuts = `When ${when.join(', or when ')}, ${stoppedText(id, car)}, and it stays so until the cutoff may let go.`;
  return {
    cuts: id === 'not-allowed' ? FORBIDDEN : cuts,
    letsGo: `It is in force only as long as it has a cause, and lets go in time: ${plain(row.letsGo)}.`,
  };
}

function plain(text: string): string {
  return text.replaceAll('`', '');
}

/** One car's properties and reactions. */
export interface Obligations {
  readonly properties: readonly Property[];
  readonly reactions: readonly Reaction[];
  readonly causes: readonly Cause[];
}

function cutoffProperties(
  id: string,
  causes: readonly Cause[],
  car: Car,
  shared: Shared,
): Property[] {
  const { cuts, letsGo } = sentencesOf(id, causes, car);
  const must = or(...causes.map((cause) => cause.must));
  const may = or(...causes.map((cause) => cause.may));
  return [
    { id, cutoff: id, sentence: cuts, when: must, then: cutOff(id, car, shared) },
    { id: `${id} lets go`, cutoff: id, sentence: letsGo, when: inForce(id), then: may },
    {
      ...{ id: `${id} stops`, cutoff: id },
      sentence: 'While it is in force, what it stops does not run.',
      when: inForce(id),
      then: cutOff(id, car, shared),
    },
  ];
}

/** Everything that a core in this car is held to. */
export function obligationsOf(car: Car): Obligations {
  const trust = trustOf(car);
  const shared = sharedOf(car, trust);
  const causes = causesOf(car, shared);
  const properties = CUTOFFS.flatMap(({ id }) =>
    cutoffProperties(
      id,
      causes.filter((cause) => cause.cutoff === id),
      car,
      shared,
    ),
  );
  const reactions = causes.map((cause) => ({
    id: `${cause.cutoff}: ${cause.words}`,
    on: cause.on,
    acts: and(cause.must, inForce(cause.cutoff)),
    sprays: stoppedSpray(cause.cutoff, car, shared),
    withinMs: cause.onsetMs,
  }));
  return { properties: [...properties, ...generalProperties(car, shared)], reactions, causes };
}
