/**
 * The sentence that opens text and page of a plan: how much water the day takes, whether the tank
 * lasts, and where it is worth spraying. Who reads only this knows what to carry.
 */
import { counted } from '../report/format.js';
import type { Plan } from './plan.js';
import { kelvins, litres, spreadWords } from './words.js';

/** Parts in order; strong ones carry the numbers. */
export type Part = string | { readonly strong: string };

/** The opening sentence. */
export function planSentence(plan: Plan): Part[] {
  const { stages, waterMl, days } = plan;
  if (stages.length === 0) return ['This day has no stage, so it takes no water.'];
  const worth = stages.filter(({ verdict }) => verdict === 'worth');
  if (worth.length === 0) {
    return ['It is not worth spraying on any stage of this day.'];
  }
  const won = worth.map(({ wonK }) => wonK.median);
  const least = kelvins(Math.min(...won));
  const most = kelvins(Math.max(...won));
  const howMuch = least === most ? least : `${least} to ${most}`;
  const where =
    worth.length === stages.length
      ? `on ${stages.length === 1 ? 'its stage' : `all ${counted(stages.length, 'stage')}`}`
      : `on ${worth.length} of ${counted(stages.length, 'stage')}`;
  const spread = spreadWords(waterMl, litres);
  return [
    'The day takes ',
    { strong: `${litres(waterMl.median)} of water` },
    spread === '' ? '. ' : ` (${spread} over ${counted(days.length, 'simulated day')}). `,
    ...tankParts(plan),
    ' Spraying is worth it ',
    { strong: where },
    `, where the charge is `,
    { strong: howMuch },
    ' cooler while it is hot.',
  ];
}

function tankParts(plan: Plan): Part[] {
  const { tank, tankMl, isTankChosen, reserveMl } = plan;
  const full = litres(tankMl);
  const keeps = `with a reserve of ${litres(reserveMl)}`;
  if (isTankChosen) return ['It takes a tank of ', { strong: full }, ` ${keeps}.`];
  if (tank.stints.some(({ dryOnMedian }) => dryOnMedian !== undefined)) {
    return ['The tank of ', { strong: `${full} is too small` }, '.'];
  }
  if (tank.stints.some(({ dryOnHigh }) => dryOnHigh !== undefined)) {
    return ['The tank of ', { strong: `${full} lasts on a middle day only` }, '.'];
  }
  return ['The tank of ', { strong: `${full} lasts` }, `, ${keeps}.`];
}

/** Without emphasis. */
export function plainParts(parts: readonly Part[]): string {
  return parts.map((part) => (typeof part === 'string' ? part : part.strong)).join('');
}
