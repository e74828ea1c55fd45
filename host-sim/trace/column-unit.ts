/**
 * The unit of a column that was chosen: the one in the header, else the one the user wrote, else the
 * usual one with a note, but never for a pressure. Gives the chosen column, or a fault that names
 * file, row and column.
 */
import { Fault } from '../fault.js';
import { optionText, type Heading } from './heading.js';
import { quoteText } from './text.js';
import {
  BARE_UNIT,
  DEFAULT_UNIT,
  ROLE_DIMENSION,
  unitOf,
  unitSymbols,
  type ColumnRole,
  type PressureKind,
  type Unit,
} from './units.js';

/** A column that was chosen for a role. */
export interface ChosenColumn {
  readonly role: ColumnRole;
  readonly heading: Heading;
  readonly unit: Unit;
  readonly named: boolean;
  readonly note?: string;
}

/** Where the header stands, for messages. */
export interface HeaderPlace {
  readonly file: string;
  readonly row: number;
}

/** Decides the unit of a chosen column. */
export function settle(
  role: ColumnRole,
  heading: Heading,
  userUnit: Unit | undefined,
  named: boolean,
  place: HeaderPlace,
): ChosenColumn {
  const unit = heading.unit ?? userUnit;
  const dimension = ROLE_DIMENSION[role];
  if (dimension === undefined) return { role, heading, unit: BARE_UNIT, named };
  if (unit === undefined) return settleWithoutUnit(role, heading, named, place);
  if (unit.dimension !== dimension) {
    throw unitFault(role, heading, `is in ${unit.symbol}, which is no unit of ${dimension}`, place);
  }
  const base = { heading, unit, named };
  if (dimension === 'pressure' && role !== 'baro') {
    const kind = kindOf(role, heading, unit);
    const shown = { ...unit, symbol: `${unit.symbol.split(' ')[0]} ${kind}`, pressureKind: kind };
    return { ...base, role: kind === 'absolute' ? 'map' : 'boost', unit: shown };
  }
  const note = noteOf(role, heading, named);
  return { ...base, role, ...(note !== undefined && { note }) };
}

function settleWithoutUnit(
  role: ColumnRole,
  heading: Heading,
  named: boolean,
  place: HeaderPlace,
): ChosenColumn {
  const dimension = ROLE_DIMENSION[role] ?? 'share';
  const { unknownUnit } = heading;
  // "[hh:mm:ss]" says how clock time is written; it is no unit and needs none.
  const isPattern = role === 'time' && /^[hmsfydt:.,/ -]+$/i.test(unknownUnit ?? '');
  if (unknownUnit !== undefined && !isPattern) {
    throw unitFault(
      role,
      heading,
      `has the unit ${quoteText(unknownUnit)}, which is not known`,
      place,
    );
  }
  if (dimension === 'pressure') {
    const option = role === 'map' || role === 'baro' ? role : 'boost';
    const sentence =
      `${place.file}, row ${place.row}, column ${quoteText(heading.text)}: a pressure needs its ` +
      `unit; write it behind the name, for example --column ${option}=${optionText(heading, 'kPa')} ` +
      `(${unitSymbols('pressure').join(', ')})`;
    throw new Fault('E-TRACE-08', sentence, placeIn(place, heading));
  }
  if (role === 'level') return { role, heading, unit: BARE_UNIT, named };
  const symbol = DEFAULT_UNIT[role] as string;
  const isSaid = role === 'time' || role === 'rpm';
  const said = isSaid ? undefined : `${quoteText(heading.text)} names no unit: read as ${symbol}.`;
  const note = [noteOf(role, heading, named), said].filter(Boolean).join(' ');
  return { role, heading, unit: unitOf(symbol), named, ...(note !== '' && { note }) };
}

function unitFault(role: ColumnRole, heading: Heading, what: string, place: HeaderPlace): Fault {
  const known = unitSymbols(ROLE_DIMENSION[role] ?? 'share').join(', ');
  const sentence =
    `${place.file}, row ${place.row}, column ${quoteText(heading.text)}: ${role} ${what} ` +
    `(units: ${known})`;
  return new Fault('E-TRACE-09', sentence, placeIn(place, heading));
}

function placeIn(place: HeaderPlace, heading: Heading) {
  return { file: place.file, row: place.row, column: heading.text };
}

/** The unit decides, then the header's words, then the name that the user gave. */
function kindOf(role: ColumnRole, { words }: Heading, unit: Unit): PressureKind {
  if (unit.pressureKind !== undefined) return unit.pressureKind;
  if (words.has('gauge')) return 'gauge';
  if (words.has('absolute')) return 'absolute';
  if (words.has('boost')) return role === 'map' ? 'absolute' : 'gauge';
  return role === 'map' || words.has('manifold') ? 'absolute' : 'gauge';
}

function noteOf(role: ColumnRole, heading: Heading, named: boolean): string | undefined {
  if (role !== 'charge' || named || !heading.words.has('intake')) return undefined;
  if (heading.words.has('manifold') || heading.words.has('charge') || heading.words.has('after')) {
    return undefined;
  }
  return INTAKE_NOTE;
}

/** Said wherever intake air stands in for charge. */
export const INTAKE_NOTE =
  'Intake air temperature stands in for charge temperature: it is only as good as its sensor is ' +
  'near the cooler.';
