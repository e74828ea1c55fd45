/**
 * The settings as a form made from the settings table: name, value, unit, what it is, and with the focus
 * its range and why. Every change is run at once; what differs from the file is marked with its old
 * value; a rule that is broken is said at the setting. Two sides, A and B; undo; a commented file.
 */
import { checkSettings } from '../../../controller/settings-check.js';
import type { SettingRow, Settings } from '../../../controller/settings.js';
import { settingValue } from '../../report/format.js';
import { formatSettings } from '../../settings/format.js';
import { numberInput, rowOf, SETTING_GROUPS, typed, untyped } from '../form.js';
import { button, byId, element, saveFile } from './dom.js';
import type { Model, Side } from './model.js';

interface Field {
  readonly row: SettingRow;
  readonly root: HTMLElement;
  readonly control: HTMLInputElement | HTMLSelectElement;
  readonly was: HTMLElement;
  readonly wrong: HTMLElement;
}

/** Builds the form and keeps it in step with the settings. */
export function showSettings(model: Model): void {
  const fields: Field[] = [];
  const groups = SETTING_GROUPS.map(({ title, names }, index) =>
    element(
      'details',
      index < 2 ? { open: '' } : {},
      element('summary', {}, title),
      element(
        'fieldset',
        { 'aria-label': title },
        ...names.map((name) => {
          const field = makeField(rowOf(name), model);
          fields.push(field);
          return field.root;
        }),
      ),
    ),
  );
  byId('settings-form').replaceChildren(...groups);
  const bar = makeBar(model);
  byId('settings-bar').replaceChildren(...bar.nodes);
  const show = () => {
    const faults = checkSettings(model.edited);
    for (const field of fields) showField(field, model, faults);
    bar.refresh();
  };
  model.on(['settings', 'traces'], show);
  show();
}

function makeField(row: SettingRow, model: Model): Field {
  const input = numberInput(row);
  const control = input === undefined ? choiceOf(row) : numberOf(row, input.step);
  const id = `setting-${row.name}`;
  control.id = id;
  control.setAttribute('aria-describedby', `${id}-what ${id}-more`);
  control.addEventListener('input', () => {
    const value = input === undefined ? Number(control.value) : untyped(input, control.value);
    if (Number.isNaN(value)) return;
    model.change(row.field, value, performance.now());
  });
  const unit = input?.unit ?? '';
  const was = element('span', { class: 'was' });
  const wrong = element('span', { class: 'wrong', role: 'status' });
  const range =
    input === undefined ? '' : `${settingValue(row, row.min)} to ${settingValue(row, row.max)}: `;
  const root = element(
    'div',
    { class: 'setting' },
    element('label', { for: id }, row.name),
    element('span', {}, control, element('span', { class: 'unit' }, unit)),
    element('p', { class: 'under', id: `${id}-what` }, row.what, ' ', was, wrong),
    element('p', { class: 'under more', id: `${id}-more` }, range + row.why),
  );
  return { row, root, control, was, wrong };
}

function numberOf(row: SettingRow, step: number): HTMLInputElement {
  // The browser's own judgement would refuse values between two steps; ours is checkSettings.
  const control = element('input', { type: 'number', step: String(step), inputmode: 'decimal' });
  const input = numberInput(row);
  if (input !== undefined) {
    control.min = typed(input, row.min);
    control.max = typed(input, row.max);
  }
  return control;
}

function choiceOf(row: SettingRow): HTMLSelectElement {
  const words: readonly string[] = 'words' in row ? row.words : [];
  const options = words.map((word, value) => element('option', { value: String(value) }, word));
  return element('select', {}, ...options);
}

function showField(
  { row, root, control, was, wrong }: Field,
  model: Model,
  faults: ReturnType<typeof checkSettings>,
): void {
  const value = model.edited[row.field];
  const input = numberInput(row);
  const text = input === undefined ? String(value) : typed(input, value);
  // What is being typed is left alone as long as it means the same.
  const isSame = input !== undefined && untyped(input, control.value) === value;
  if (!isSame) control.value = text;
  const isChanged = value !== model.base[row.field];
  root.classList.toggle('changed', isChanged);
  was.textContent = isChanged ? `changed; was ${settingValue(row, model.base[row.field])}` : '';
  const fault = faults.find(
    ({ name, others = [] }) => name === row.name || others.includes(row.name),
  );
  control.setAttribute('aria-invalid', String(fault !== undefined));
  wrong.textContent =
    fault === undefined ? '' : ` ${fault.sentence}. The picture keeps the last good settings.`;
}

interface Bar {
  readonly nodes: readonly Node[];
  readonly refresh: () => void;
}

function makeBar(model: Model): Bar {
  const undo = button('Undo', () => model.undo(), { id: 'undo' });
  const back = button(
    'Back to the file',
    () => model.choose({ ...model.chosen, [model.side]: model.base }),
    { id: 'back' },
  );
  const save = button('Save as YAML', () => saveSettings(model), { id: 'save' });
  const compare = button('Compare: keep this as B', () => compareOrNot(model), { id: 'keep-b' });
  const sides = (['a', 'b'] as const).map((side) => sideButton(model, side));
  const sideRow = element(
    'div',
    { class: 'row', role: 'group', 'aria-label': 'which settings the form changes' },
    ...sides,
  );
  const from = element('p', { class: 'small' });
  const refresh = () => {
    const { chosen, side, base, baseName } = model;
    undo.disabled = !model.canUndo;
    back.disabled = isSame(model.edited, base);
    sideRow.hidden = chosen.b === undefined;
    compare.textContent = chosen.b === undefined ? 'Compare: keep this as B' : 'End the comparison';
    sides.forEach((each, index) => {
      each.setAttribute('aria-pressed', String(side === (['a', 'b'] as const)[index]));
    });
    const count = changedCount(model.edited, base);
    from.textContent = `${baseName}${count === 0 ? '' : `, ${count} changed`}`;
  };
  const row = element('div', { class: 'row' }, undo, back, save, compare);
  return { nodes: [from, row, sideRow], refresh };
}

function sideButton(model: Model, side: Side): HTMLButtonElement {
  return button(`Change ${side.toUpperCase()}`, () => {
    model.side = side;
    model.tell('settings');
  });
}

function compareOrNot(model: Model): void {
  const { a, b } = model.chosen;
  if (b === undefined) model.choose({ a, b: a }, 'a');
  else model.choose({ a: model.edited, b: undefined });
}

function changedCount(one: Settings, other: Settings): number {
  const names = Object.keys(one) as (keyof Settings)[];
  return names.filter((name) => one[name] !== other[name]).length;
}

function isSame(one: Settings, other: Settings): boolean {
  return changedCount(one, other) === 0;
}

function saveSettings(model: Model): void {
  const name = model.baseName.endsWith('.yaml') ? model.baseName : 'settings.yaml';
  saveFile(name, 'application/yaml', formatSettings(model.edited));
}
