/**
 * THE table of the car file: its groups, the values of each with bounds, the built-in car's value and
 * where that is from. Reader, writer, JSON Schema and docs/model.md are made from it. Numbers are in
 * the SI units of car.ts; a row is found by its name in the record, so that none can be missing.
 * The built-in car is an invented two-litre turbo petrol competition car: its values are common
 * practice or engineering judgement ("assumed"), but where a source is named.
 */
import type { Car, Curve } from './car.js';
import type { CarQuantity } from './quantity.js';

/** The first line of every car file names its kind, the second its format version. */
export const CAR_KIND = 'smirr-car';
export const CAR_VERSION = 1;

interface Row {
  /** In the file. */
  readonly name: string;
  readonly quantity: CarQuantity;
  readonly min: number;
  readonly max: number;
  /** How it is written, if not in the quantity's first unit. */
  readonly unit?: string;
  readonly what: string;
  /** Where the built-in car's value is from. */
  readonly source: string;
}

/** One number. */
export interface NumberRow extends Row {
  readonly shape: 'number';
  readonly standard: number;
  /** True if the word `none` may stand for it; it is 0 then. */
  readonly mayBeNone?: boolean;
}

/** Numbers that rise, with one unit behind the last: "8.6, 12.7 km/h". */
export interface ListRow extends Row {
  readonly shape: 'list';
  readonly countMax: number;
  readonly standard: readonly number[];
}

/** A line for each point: an engine speed and the value there. */
export interface CurveRow extends Row {
  readonly shape: 'curve';
  readonly countMax: number;
  readonly standard: Curve;
}

export type CarRow = NumberRow | ListRow | CurveRow;

type RowFor<Value> = Value extends number
  ? NumberRow
  : Value extends Curve
    ? CurveRow
    : Value extends readonly number[]
      ? ListRow
      : never;

interface CarGroup<Section> {
  readonly what: string;
  readonly rows: { readonly [Field in keyof Section]: RowFor<Section[Field]> };
}

const ASSUMED = 'assumed';

type NumberMore = Partial<Pick<NumberRow, 'unit' | 'source' | 'mayBeNone'>>;

/** A row of one number; `range` is least, most and the built-in car's. */
function number(
  name: string,
  quantity: CarQuantity,
  range: readonly [min: number, max: number, standard: number],
  what: string,
  more: NumberMore = {},
): NumberRow {
  const [min, max, standard] = range;
  return { shape: 'number', name, quantity, min, max, standard, what, source: ASSUMED, ...more };
}

const KMH = 1 / 3.6;

/** As the reader converts it, to the last digit. */
function kmh(speed: number): number {
  return Number((speed * KMH).toPrecision(15));
}

export const CAR_GROUPS: { readonly [Section in keyof Car]: CarGroup<Car[Section]> } = {
  engine: {
    what: 'the engine as a pump of air',
    rows: {
      displacementM3: number('displacement', 'volume', [0.2e-3, 10e-3, 2e-3], 'swept volume'),
      volumetricEfficiencyShare: number(
        'volumetricEfficiency',
        'share',
        [0.4, 1.4, 0.95],
        'air drawn in as a share of what the swept volume holds at manifold density',
      ),
      restrictorM: number(
        'restrictor',
        'length',
        [0.01, 0.1, 0],
        'diameter of the restrictor before the compressor, or the word none',
        { mayBeNone: true },
      ),
      idleRpm: number('idle', 'engineSpeed', [300, 4000, 1050], 'engine speed at idle'),
    },
  },
  compressor: {
    what: 'the compressor of the turbocharger',
    rows: {
      efficiencyShare: number(
        'efficiency',
        'share',
        [0.3, 0.9, 0.7],
        'isentropic efficiency, total to total',
      ),
      inletLossPa: number(
        'inletLoss',
        'pressure',
        [0, 20_000, 3000],
        'pressure lost before it at cooler.hotFlow; grows with the square of the flow',
      ),
    },
  },
  cooler: {
    what: 'the charge-air cooler and the air that blows on it',
    rows: {
      heatCapacityJpk: number(
        'heatCapacity',
        'heatCapacity',
        [300, 30_000, 3125.5],
        'heat that one kelvin of its metal stores: mass times 893 J/(kg K) for aluminium 3003',
        { source: 'assumed: 3.5 kg of aluminium 3003' },
      ),
      hotWpk: number(
        'hot',
        'conductance',
        [50, 10_000, 1100],
        'from charge to metal at hotFlow of charge',
      ),
      hotFlowKgps: number(
        'hotFlow',
        'massFlow',
        [0.02, 2, 0.25],
        'charge flow at which hot, coreLoss and compressor.inletLoss are given',
      ),
      hotExponent: number(
        'hotExponent',
        'ratio',
        [0, 1.2, 0.8],
        'power of flow with which hot grows',
        { source: 'turbulent flow in tubes, Dittus and Boelter' },
      ),
      coldWpk: number(
        'cold',
        'conductance',
        [50, 10_000, 1000],
        'from dry metal to cooling air at coldFlow of air',
      ),
      coldFlowKgps: number(
        'coldFlow',
        'massFlow',
        [0.1, 10, 1.5],
        'flow of cooling air at which cold is given',
      ),
      coldExponent: number(
        'coldExponent',
        'ratio',
        [0, 1.2, 0.6],
        'power of flow with which cold grows',
      ),
      faceM2: number('face', 'area', [0.01, 1, 0.18], 'area of its face'),
      ductShare: number(
        'duct',
        'share',
        [0.01, 1, 0.22],
        'speed of the air before the fins as a share of vehicle speed',
      ),
      standstillAirMps: number(
        'standstillAir',
        'speed',
        [0.05, 10, 0.8],
        'least speed of the air before the fins: draught and fan',
        { unit: 'm/s' },
      ),
      finM2: number('fins', 'area', [0.2, 50, 6], 'area of its fins, both sides'),
      coreLossPa: number(
        'coreLoss',
        'pressure',
        [0, 50_000, 9000],
        'pressure the charge loses in it at hotFlow; grows with the square of the flow',
      ),
    },
  },
  film: {
    what: 'the film of water on the fins',
    rows: {
      wettedShare: number(
        'wetted',
        'share',
        [0.01, 1, 0.45],
        'share of the fins that mist reaches',
      ),
      wetThicknessM: number(
        'wet',
        'length',
        [1e-6, 200e-6, 10e-6],
        'mean thickness from which the reached fins are wet all over; less is patches',
        { unit: 'um' },
      ),
      runoffThicknessM: number(
        'runoff',
        'length',
        [2e-6, 500e-6, 30e-6],
        'mean thickness on the reached fins above which water runs off',
        { unit: 'um' },
      ),
      floodShare: number(
        'flood',
        'share',
        [0, 0.9, 0.6],
        'share of the air passages closed when the film is as thick as runoff',
      ),
    },
  },
  bay: {
    what: 'the engine bay: heat soak',
    rows: {
      riseK: number(
        'rise',
        'temperatureStep',
        [0, 120, 45],
        'how much warmer than outside it gets at standstill',
      ),
      halfSpeedMps: number(
        'halfSpeed',
        'speed',
        [2 * KMH, 200 * KMH, kmh(25)],
        'vehicle speed at which the rise is half of that',
      ),
      lagS: number('lag', 'time', [5, 1200, 80], 'time constant of its warming and cooling'),
      soakWpk: number(
        'soak',
        'conductance',
        [0, 300, 15],
        'from the bay to the metal of the cooler',
      ),
      recirculationShare: number(
        'recirculation',
        'share',
        [0, 1, 0.3],
        'share of bay air in the cooling air at standstill; less with speed, as the rise',
      ),
    },
  },
  sensor: {
    what: 'the charge temperature sensor',
    rows: { lagS: number('lag', 'time', [0.01, 60, 1.5], 'time constant in flowing charge') },
  },
  spray: {
    what: 'nozzles and what becomes of their water',
    rows: {
      nozzleM3ps: number(
        'nozzle',
        'waterFlow',
        [0.05e-6, 20e-6, 1e-6],
        'flow of one nozzle at its working pressure',
      ),
      nozzleCount: number('nozzles', 'count', [1, 40, 4], 'how many there are'),
      landingShare: number('landing', 'share', [0.05, 1, 0.85], 'share that lands on the fins'),
      inFlightShare: number(
        'inFlight',
        'share',
        [0, 0.5, 0.02],
        'share that evaporates on its way to the fins',
        { source: 'law of the droplet diameter for 50 um at 30 degC, 40 %: 0.6 to 4.8 %' },
      ),
    },
  },
  vehicle: {
    what: 'what moves the car and what holds it back',
    rows: {
      massKg: number('mass', 'mass', [200, 10_000, 1300], 'with driver, fuel and water'),
      powerW: {
        shape: 'curve',
        name: 'power',
        quantity: 'power',
        min: 0,
        max: 2e6,
        countMax: 24,
        what: 'power at the wheels at full load and full boost, by engine speed',
        source: ASSUMED,
        standard: {
          rpm: [1000, 2000, 3000, 4000, 5000, 6000, 7000],
          values: [15e3, 50e3, 105e3, 160e3, 190e3, 200e3, 185e3],
        },
      },
      dragM2: number('drag', 'area', [0.1, 5, 0.75], 'drag coefficient times frontal area'),
      rollingShare: number('rolling', 'share', [0, 0.2, 0.02], 'rolling resistance by weight'),
      grip: number(
        'grip',
        'ratio',
        [0.1, 3, 0.8],
        'acceleration that the tyres give, as a multiple of gravity',
      ),
      gearsMps: {
        shape: 'list',
        name: 'gears',
        quantity: 'speed',
        min: 1 * KMH,
        max: 100 * KMH,
        countMax: 12,
        what: 'vehicle speed at 1,000 1/min in each gear, first gear first',
        source: ASSUMED,
        standard: [8.6, 12.7, 17, 21.6, 26.4].map(kmh),
      },
      upshiftRpm: number(
        'upshift',
        'engineSpeed',
        [1500, 15_000, 6700],
        'engine speed at which a fast driver shifts up',
      ),
      shiftS: number('shift', 'time', [0.01, 2, 0.14], 'pause in drive while a gear is changed'),
    },
  },
  boost: {
    what: 'boost by engine speed, and the lag of the turbine',
    rows: {
      fullPa: {
        shape: 'curve',
        name: 'full',
        quantity: 'pressure',
        min: -100_000,
        max: 400_000,
        countMax: 24,
        what: 'boost (gauge) at full load with the turbine at speed, by engine speed',
        source: ASSUMED,
        standard: {
          rpm: [1500, 2500, 3500, 4300, 5600, 7200],
          values: [0, 38_000, 112_000, 142_000, 140_000, 115_000],
        },
      },
      closedPa: number(
        'closed',
        'pressure',
        [-95_000, 0, -62_000],
        'boost with the throttle closed, below zero',
      ),
      lagUpS: number(
        'lagUp',
        'time',
        [0.02, 5, 0.42],
        'time constant of the turbine gathering speed',
      ),
      lagDownS: number(
        'lagDown',
        'time',
        [0.02, 10, 1.3],
        'time constant of the turbine slowing down',
      ),
    },
  },
};

export type GroupName = keyof Car;
export const CAR_GROUP_NAMES = Object.keys(CAR_GROUPS) as readonly GroupName[];

/** The rows of a group with the names of their fields in the record. */
export function rowsOf(group: GroupName): readonly [field: string, row: CarRow][] {
  return Object.entries(CAR_GROUPS[group].rows as Readonly<Record<string, CarRow>>);
}

/** What must hold across values: the sentence says what does not, or undefined. */
export function carRelationProblem(car: Car): { name: string; sentence: string } | undefined {
  const { film, spray } = car;
  if (film.wetThicknessM >= film.runoffThicknessM) {
    return {
      name: 'film.runoff',
      sentence: 'film.wet must be under film.runoff: fins are wet before water runs off',
    };
  }
  if (spray.landingShare + spray.inFlightShare > 1) {
    return {
      name: 'spray.landing',
      sentence: 'spray.landing and spray.inFlight together must be 100 % at most',
    };
  }
  return undefined;
}

/** The built-in car, `--car default`. */
export function defaultCar(): Car {
  const groups = CAR_GROUP_NAMES.map((group) => [
    group,
    Object.fromEntries(rowsOf(group).map(([field, row]) => [field, row.standard])),
  ]);
  return Object.fromEntries(groups) as Car;
}

/** Where the built-in car's values are from, by dotted name. */
export function defaultCarSources(): Map<string, string> {
  const sources = new Map<string, string>();
  for (const group of CAR_GROUP_NAMES) {
    for (const [, row] of rowsOf(group)) sources.set(`${group}.${row.name}`, row.source);
  }
  return sources;
}
