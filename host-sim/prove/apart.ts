/**
 * In what some settings differ from the tested ones, in words for a reader: edges and search change settings
 * where the tested ones keep a cutoff out of reach, and the report says so.
 */
import { SETTINGS, type Settings } from '../../controller/settings.js';
import { forTerminal, settingValue } from '../report/format.js';

/** "automaticAllowed no, manual 5 s"; '' if they are the same. */
export function settingsApart(tested: Settings, others: Settings): string {
  if (tested === others) return '';
  const changed = SETTINGS.filter(({ field }) => tested[field] !== others[field]);
  const texts = changed.map((row) => `${row.name} ${settingValue(row, others[row.field])}`);
  return forTerminal(texts.join(', '));
}
