/**
 * The core's check of itself. Two things are compared: in every tick a word over the state that
 * decides about safety, left by the last tick, against the state as it is found; and one value of
 * the compiled rules in every eighth tick, in turn, against a second copy: all of them within
 * a minute. A single one of these values that changed by itself is found; the answer is the cutoff
 * core-fault.
 */
import type { BurstState } from './tick/4-burst.js';
import type { CutoffState } from './tick/5-cutoffs.js';
import type { AccountState } from './tick/7-account.js';
import { TIME, WORD, type Fields } from './fields.js';

/** A record of compiled rules: numbers, lists of numbers, and tables, which are records too. */
export type RuleRecord = { readonly [name: string]: number | readonly number[] };

/** A record of the rules, or a list of one, and what its numbers must be. */
interface RuleGroup {
  readonly record: { readonly [name: string | number]: unknown };
  /** Names of the record's fields; undefined for a list, whose places are its names. */
  readonly names: readonly string[] | undefined;
  readonly values: readonly unknown[];
}

/** Every number of the compiled rules: where it lives, and what it must be. */
export interface RuleCopy {
  readonly groups: readonly RuleGroup[];
  /** How many values there are to compare. */
  readonly count: number;
}

export interface SelfState {
  /** The word over the state as the last tick left it. */
  seal: number;
  /** The next rule to compare, by its group and its place there, and the ticks since the last one was. */
  ruleGroup: number;
  ruleIndex: number;
  ruleWait: number;
}

export const SELF_FIELDS: Fields<SelfState> = {
  seal: WORD,
  ruleGroup: TIME,
  ruleIndex: TIME,
  ruleWait: [0, 8],
};

/** The record as a core begins with it. */
export function makeSelf(): SelfState {
  return { seal: 0, ruleGroup: 0, ruleIndex: 0, ruleWait: 0 };
}

/**
 * The second copy of the rules, made when they are compiled: each record, and after it its lists by
 * name. In which order an object's names come is the engine's own affair; here it decides which field of a
 * record is compared in which tick, and nothing else.
 */
export function makeRuleCopy(records: readonly RuleRecord[]): RuleCopy {
  const groups: RuleGroup[] = [];
  let count = 0;
  for (let index = 0; index < records.length; index++) {
    const record = records[index];
    const names = Object.keys(record);
    const values: unknown[] = [];
    const lists: string[] = [];
    for (let at = 0; at < names.length; at++) {
      const value = record[names[at]];
      values[at] = value;
      // A table within a record is among the records itself.
      if (typeof value !== 'number' && typeof value.length === 'number') lists.push(names[at]);
    }
    groups.push({ record: record, names: names, values: values });
    count += names.length;
    if (lists.length > 1) lists.sort();
    for (let at = 0; at < lists.length; at++) count += makeListCopy(groups, record[lists[at]]);
  }
  return { groups: groups, count: count };
}

/** Adds a list as a group of its own; gives its length. */
function makeListCopy(groups: RuleGroup[], value: RuleRecord[string]): number {
  const list = value as readonly number[];
  groups.push({
    record: list as unknown as RuleGroup['record'],
    names: undefined,
    values: list.slice(0),
  });
  return list.length;
}

const WORD_MASK = 0x3fffffff;

/** The word over what decides about safety; a change of any one bit of it changes the word. */
export function sealOf(burst: BurstState, cutoffs: CutoffState, account: AccountState): number {
  const word =
    account.tankUl ^
    account.windowMs ^
    account.pieceMs ^
    account.restedMs ^
    account.standstillMs ^
    account.kind ^
    cutoffs.causes ^
    cutoffs.latched ^
    cutoffs.active ^
    cutoffs.lowestDc ^
    burst.service;
  // The two highest bits are folded in, so that a changed sign shows as well.
  return (word ^ (word >> 30)) & WORD_MASK;
}

/** A rule is compared in every eighth tick: all of them within a minute. */
const RULE_EVERY_TICKS = 8;

/** True if the next rule in turn is what it was when it was compiled. */
export function isRuleSound(state: SelfState, copy: RuleCopy): boolean {
  state.ruleWait++;
  if (state.ruleWait < RULE_EVERY_TICKS) return true;
  state.ruleWait = 0;
  const group = copy.groups[state.ruleGroup];
  if (group === undefined) return false;
  const index = state.ruleIndex;
  if (!(index >= 0 && index < group.values.length)) return false;
  if (index + 1 < group.values.length) {
    state.ruleIndex = index + 1;
  } else {
    state.ruleIndex = 0;
    state.ruleGroup = state.ruleGroup + 1 < copy.groups.length ? state.ruleGroup + 1 : 0;
  }
  const name = group.names === undefined ? index : group.names[index];
  return group.record[name] === group.values[index];
}
