/**
 * What there is to say about a plan: a sentence each, the gravest first. A `problem` is something that
 * will not work, an `advice` something to change or to know before the day. Made from a `Plan`; read by
 * text, JSON and page.
 */
import { settingText } from '../../controller/settings-check.js';
import { andList } from '../shown.js';
import type { Leg } from './itinerary.js';
import type { Plan, StagePlan } from './plan.js';
import { airWords, bars, degC, kelvins, litres, rangeWords, rates } from './words.js';
import { BURST_MLPS, MIST_BAR_MIN } from './plumbing.js';
import { chooseCount } from './pump.js';
import type { Stint } from './tank.js';
import { FUSE_LOAD_SHARE_MAX } from './fuse.js';
import type { WiringProblem } from './wiring.js';

export interface Finding {
  readonly level: 'problem' | 'advice';
  /** What it is about, a word. */
  readonly about: 'tank' | 'stage' | 'flow' | 'fuse' | 'wire' | 'settings';
  readonly sentence: string;
}

/** From this share of the water on it is worth saying that it runs off. */
const RUNOFF_SHARE = 0.25;

/** Everything there is to say, problems first. */
export function findingsOf(plan: Plan): Finding[] {
  const all = [
    ...plan.tank.stints.flatMap((stint) => tankFinding(plan, stint)),
    ...stageFindings(plan),
    ...flowFindings(plan),
    ...plan.wiring.problems.map((problem) => wiringFinding(plan, problem)),
    ...settingsFindings(plan),
  ];
  return [
    ...all.filter(({ level }) => level === 'problem'),
    ...all.filter(({ level }) => level === 'advice'),
  ];
}

/** "from Larch Pass to Field service". */
export function stintWords(legs: readonly Leg[], { from, to }: Stint): string {
  const end = to < legs.length ? `until ${legs[to].name}` : 'to the end of the day';
  return `from ${legs[from].name} ${end}`;
}

function tankFinding(plan: Plan, stint: Stint): Finding[] {
  const { dryOnHigh, dryOnMedian, needMl, from } = stint;
  const dry = dryOnMedian ?? dryOnHigh;
  if (dry === undefined) return [];
  const { legs } = plan.itinerary;
  const usable = plan.tankMl - plan.reserveMl;
  const isProblem = dryOnMedian !== undefined;
  const begin = isProblem
    ? 'The tank is too small'
    : 'The tank lasts on a middle day and is too small on the worst of those simulated';
  const needed = litres(Math.ceil((needMl.high + plan.reserveMl) / 100) * 100);
  const refill = dry > from ? `, or a refill before ${legs[dry].name}` : '';
  return [
    {
      level: isProblem ? 'problem' : 'advice',
      about: 'tank',
      sentence:
        `${begin}: ${stintWords(legs, stint)} takes ${rangeWords(needMl, litres)}, and ` +
        `${litres(usable)} of its ${litres(plan.tankMl)} may be sprayed (the reserve of ` +
        `${litres(plan.reserveMl)} stays); it would stop on ${legs[dry].name}. ` +
        `A tank of ${needed} would do${refill}.`,
    },
  ];
}

function stageFindings(plan: Plan): Finding[] {
  const idle = plan.stages.filter(({ verdict }) => verdict !== 'worth');
  if (idle.length > 0 && idle.length === plan.stages.length) {
    const names = new Map<string, string[]>();
    for (const each of idle) {
      const why = whyNot(plan, each);
      names.set(why, [...(names.get(why) ?? []), each.stage.name]);
    }
    const reasons = [...names].map(([why, list]) => `${andList(list)}: ${why}`);
    return [
      {
        level: 'problem',
        about: 'stage',
        sentence: `On no stage of this day is it worth spraying. ${reasons.join('; ')}.`,
      },
    ];
  }
  return idle.map((each) => ({
    level: 'advice',
    about: 'stage',
    sentence: `Not worth spraying on ${each.stage.name}: ${whyNot(plan, each)}.`,
  }));
}

/** Why a stage is not worth the water. */
function whyNot({ settings }: Plan, stage: StagePlan): string {
  const { air } = stage.stage;
  if (stage.verdict === 'too-cold') {
    const freeze = degC(settings.freezeDc / 10);
    return `it is too cold, ${degC(air.ambientDegC)}, and nothing is sprayed under ${freeze} (freeze)`;
  }
  if (stage.verdict === 'not-hot') {
    const on = degC(settings.tempOnDc / 10);
    const hottest = degC(stage.dryMaxDegC.median);
    return `it is too cool, the charge reaches ${hottest} without water and mist begins at ${on} (tempOn)`;
  }
  const won = rangeWords(stage.wonK, kelvins);
  return `at ${airWords(air)} the water wins only ${won} while the charge is hot`;
}

function flowFindings({ plumbing, stages }: Plan): Finding[] {
  const { count, point, least, flowMaxMlps, dutyMax, isOver, isWeak } = plumbing;
  const { boreDoubtMlps, pump, nozzle } = plumbing;
  const findings: Finding[] = [];
  const say = (sentence: string) => findings.push({ level: 'advice', about: 'flow', sentence });
  if (least && flowMaxMlps !== undefined && isOver) {
    const choice = chooseCount(pump, nozzle, flowMaxMlps);
    const fewer = choice.isOver ? 'smaller nozzles would do' : `${choice.count} would do`;
    say(
      `The nozzles pass ${rates(point.flowMlps)}, in the mean over the densest bursts ` +
        `${rates(point.flowMlps * dutyMax)}, and the cooler can make use of ` +
        `${rates(least.usefulMlps)} on ${least.name}: the rest runs off; ${fewer}.`,
    );
  } else if (point.flowMlps > BURST_MLPS.max) {
    say(`${rates(point.flowMlps)} is more than the ${BURST_MLPS.max} ml/s that are usual at most.`);
  }
  if (point.flowMlps < BURST_MLPS.min) {
    say(
      `${rates(point.flowMlps)} is less than the ${BURST_MLPS.min} ml/s that are usual at least.`,
    );
  }
  if (isWeak) {
    say(
      `Pump and ${count} nozzles agree at ${bars(point.bar)}; under ${MIST_BAR_MIN} bar such ` +
        'nozzles dribble rather than mist. Fewer or smaller nozzles raise it.',
    );
  }
  if (boreDoubtMlps) {
    const [low, high] = boreDoubtMlps;
    say(
      `A bare hole of that bore would pass ${rates(low)} to ${rates(high)} at ${bars(nozzle.atBar)}, ` +
        `and nozzle.flow says ${rates(nozzle.flowMlps)}: measure it again.`,
    );
  }
  for (const each of stages) {
    if (each.runoffShare < RUNOFF_SHARE) continue;
    const share = Math.round(each.runoffShare * 100);
    say(
      `On ${each.stage.name} ${share} % of the water misses the fins or runs off them without cooling.`,
    );
  }
  return findings;
}

function wiringFinding({ wiring, itinerary }: Plan, problem: WiringProblem): Finding {
  const { fuseA, mm2, fuseMaxA, dropV, dropShare, wantedMm2 } = wiring;
  const { runningA, inrushA, inrushMs, dropMax } = itinerary.parts;
  const thicker = wantedMm2 === undefined ? 'a shorter way' : `${wantedMm2} mm2`;
  const sentences: Readonly<Record<WiringProblem, [Finding['about'], string]>> = {
    'fuse-running': [
      'fuse',
      `The pump runs at ${runningA} A, more than ${FUSE_LOAD_SHARE_MAX * 100} % of a fuse of ${fuseA} A: it would age and open.`,
    ],
    'fuse-inrush': [
      'fuse',
      `An inrush of ${inrushA} A for ${inrushMs} ms may open a fuse of ${fuseA} A.`,
    ],
    'wire-thin-for-fuse': [
      'wire',
      `A fuse of ${fuseA} A does not protect wire of ${mm2} mm2 (${fuseMaxA} A at most): the wire would burn first; it takes ${thicker}.`,
    ],
    'drop-too-large': [
      'wire',
      `Wire of ${mm2} mm2 loses ${dropV.toFixed(2)} V, ${(dropShare * 100).toFixed(1)} % of 12 V, where ${dropMax * 100} % are allowed; it takes ${thicker}.`,
    ],
    'no-fuse': ['fuse', `No blade fuse that is sold carries ${runningA} A and that inrush.`],
    'no-wire': ['wire', 'No wire of the table keeps the drop and suits the fuse.'],
  };
  const [about, sentence] = sentences[problem];
  return { level: 'problem', about, sentence };
}

/** The controller counts water with its settings, so they should be those of the plan. */
function settingsFindings({ settings, tankMl, plumbing }: Plan): Finding[] {
  const wanted: [name: 'tank' | 'flow', is: number, should: number][] = [
    ['tank', settings.tankUl, Math.round(tankMl * 1000)],
    ['flow', settings.flowUlps, Math.round(plumbing.point.flowMlps * 100) * 10],
  ];
  return wanted
    .filter(([, is, should]) => Math.abs(is - should) > 0.05 * should)
    .map(([name, is, should]) => {
      return {
        level: 'advice',
        about: 'settings',
        sentence:
          `The settings have ${name} ${settingText(name, is)}; the controller counts right with ` +
          `'${name}: ${settingText(name, should)}', and the runs here are made so.`,
      };
    });
}
