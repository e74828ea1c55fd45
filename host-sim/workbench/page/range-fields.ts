/**
 * One setting that a search varies: which, from where to where, by what step. The range is proposed
 * around today's value, as `smirr tune --vary NAME=auto` does, until someone types another. Gives it in
 * the core's unit.
 */
import { SETTINGS, type SettingName, type Settings } from '../../../controller/settings.js';
import { autoVariation } from '../../tune/vary.js';
import { numberInput, rowOf, typed, untyped } from '../form.js';
import type { VariedRange } from '../front-search.js';
import { element } from './dom.js';

export class RangeFields {
  readonly root: HTMLElement;
  private readonly choice: HTMLSelectElement;
  private readonly inputs: readonly HTMLInputElement[];
  private readonly unit = element('span', { class: 'unit' });
  private isTyped = false;

  constructor(
    number: number,
    name: SettingName,
    private readonly today: () => Settings,
  ) {
    const id = `tune-${number}`;
    this.choice = element(
      'select',
      { id, 'aria-label': `setting ${number}` },
      ...SETTINGS.map((row) => element('option', {}, row.name)),
    );
    this.choice.value = name;
    this.inputs = ['from', 'to', 'step'].map((word) =>
      element('input', {
        ...{ type: 'number', step: 'any', inputmode: 'decimal', id: `${id}-${word}` },
        'aria-label': `${word}, setting ${number}`,
      }),
    );
    const labelled = this.inputs.flatMap((input, index) => [
      element('label', { for: input.id }, ['from', 'to', 'step'][index]),
      input,
    ]);
    this.root = element('p', { class: 'row' }, this.choice, ...labelled, this.unit);
    this.choice.addEventListener('change', () => {
      this.isTyped = false;
      this.follow();
    });
    for (const input of this.inputs) input.addEventListener('input', () => (this.isTyped = true));
    this.follow();
  }

  /** Proposes a range around today's value, unless one was typed. */
  follow(): void {
    if (this.isTyped) return;
    const { row, input } = this.chosen();
    const { values } = autoVariation(row, this.today());
    const step = values.length > 1 ? values[1] - values[0] : 1;
    const shown = [values[0], values[values.length - 1], step];
    this.inputs.forEach((field, index) => {
      field.disabled = input === undefined;
      field.value = input === undefined ? '' : typed(input, shown[index]);
    });
    this.unit.textContent = input === undefined ? 'each of its words' : input.unit;
  }

  /** What was chosen. What is no number becomes NaN, which the search refuses in a sentence. */
  range(): VariedRange {
    const { row, input } = this.chosen();
    if (input === undefined) return { name: row.name, low: row.min, high: row.max, step: 1 };
    const [low, high, step] = this.inputs.map((field) => untyped(input, field.value));
    return { name: row.name, low, high, step };
  }

  private chosen() {
    const row = rowOf(this.choice.value as SettingName);
    return { row, input: numberInput(row) };
  }
}
