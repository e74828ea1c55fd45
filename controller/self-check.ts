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

/** A record of compiled rules: numbers, and arrays of numbers. */
export type RuleRecord = { readonly [name: string]: number | readonly number[] };

/** Every number of the compiled rules: where it lives, and what it must be. */
export interface RuleCopy {
  readonly records: { readonly [name: string]: number }[];
  readonly names: string[];
  readonly values: number[];
}

export interface SelfState {
  /** The word over the state as the last tick left it. */
  seal: number;
  /** The next rule to compare, and the ticks since the last one was. */
  ruleIndex: number;
  ruleWait: number;
}

export const SELF_FIELDS: Fields<SelfState> = { seal: WORD, ruleIndex: TIME, ruleWait: [0, 8] };

/** The record as a core begins with it. */
export function makeSelf(): SelfState {
  return { seal: 0, ruleIndex: 0, ruleWait: 0 };
}

/** The second copy of the rules, made when they are compiled. */
export function makeRuleCopy(groups: readonly RuleRecord[]): RuleCopy {
  const copy: RuleCopy = { records: [], names: [], values: [] };
  for (let index = 0; index < groups.length; index++) {
    const group = groups[index];
    const names = Object.keys(group);
    for (let at = 0; at < names.length; at++) makeCopyOf(copy, group, names[at]);
  }
  return copy;
}

/** True for an array of numbers, false for a table. */
function isList(value: number | readonly number[]): value is readonly number[] {
  return typeof (value as readonly number[]).length === 'number';
}

function makeCopyOf(copy: RuleCopy, group: RuleRecord, name: string): void {
  const value = group[name];
  if (typeof value === 'number') {
    copy.records.push(group as { readonly [name: string]: number });
    copy.names.push(name);
    copy.values.push(value);
    return;
  }
  // A table within a record is a group of its own.
  if (!isList(value)) return;
  for (let index = 0; index < value.length; index++) {
    copy.records.push(value as unknown as { readonly [name: string]: number });
    copy.names.push('' + index);
    copy.values.push(value[index]);
  }
}

const WORD_MASK = 0x3fffffff;

/** The word over what decides about safety; any one value that changes changes it. */
export function sealOf(burst: BurstState, cutoffs: CutoffState, account: AccountState): number {
  const word =
    account.tankUl ^
    account.windowMs ^
    account.pieceMs ^
    account.restedMs ^
    account.standstillMs ^
    (account.kind << 8) ^
    cutoffs.causes ^
    cutoffs.latched ^
    cutoffs.active ^
    cutoffs.lowestDc ^
    (burst.service << 12);
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
  const index = state.ruleIndex;
  if (!(index >= 0 && index < copy.values.length)) return false;
  state.ruleIndex = index + 1 < copy.values.length ? index + 1 : 0;
  return copy.records[index][copy.names[index]] === copy.values[index];
}
