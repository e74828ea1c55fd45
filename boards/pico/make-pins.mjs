/**
 * Makes the C header of pins.json: the number and mask of each pin, what a pad and its function are set
 * to, which outputs are driven low first of all, and the channels of the analogue switch. Throws an
 * Error if a pin is there twice, or if an output's safe level is not one the image can give.
 */

/**
 * @typedef {{ name: string, gpio: number, direction: 'in' | 'out' | 'analog', function: string,
 *   safe: 'low' | 'high', pull: 'none' | 'up' | 'down', active: 'low' | 'high', why: string }} Pin
 * @typedef {{ pins: Pin[], analogue: { name: string, channel: number }[],
 *   switch: { select: number[], channel: number, inputs: Record<string, string>, order: string[] },
 *   levels: { feedbackHighFrom: number, feedbackLowTo: number, levelSwitchWetBelow: number } }} Pins
 */

/** The analogue inputs in the order of the C side's own list. */
const INPUTS = ['boost', 'rail', 'charge', 'ambient', 'humidity', 'level', 'supply', 'feedback'];

const PULLS = { none: '0', up: 'PAD_PULL_UP', down: 'PAD_PULL_DOWN' };
const FUNCTIONS = { uart: 'UART', sio: 'SIO', none: 'NONE' };

/** @param {string} name 'uartTransmit' becomes 'UART_TRANSMIT' */
function upper(name) {
  return name.replace(/([A-Z])/g, '_$1').toUpperCase();
}

/** @param {Pin} pin */
function padOf(pin) {
  const pull = PULLS[pin.pull];
  // 4.9.1: a pin of the converter has neither input buffer nor pulls, and its driver is off.
  if (pin.direction === 'analog') return 'PAD_OUTPUT_DISABLE';
  const base = `PAD_INPUT | PAD_DRIVE_4MA | ${pull}`;
  return pin.direction === 'in' ? `${base} | PAD_SCHMITT | PAD_OUTPUT_DISABLE` : base;
}

/** @param {Pin[]} pins */
function checkPins(pins) {
  const seen = new Set();
  for (const pin of pins) {
    if (seen.has(pin.gpio) || seen.has(pin.name)) {
      throw new Error(`pins.json: ${pin.name} (gpio ${pin.gpio}) is there twice`);
    }
    seen.add(pin.gpio).add(pin.name);
    if (pin.direction === 'out' && pin.function === 'sio' && pin.safe !== 'low') {
      throw new Error(`pins.json: ${pin.name} has the safe level ${pin.safe}; outputs start low`);
    }
  }
}

/**
 * The header's text.
 * @param {Pins} board what pins.json holds
 * @returns {string}
 */
export function pinsHeader(board) {
  checkPins(board.pins);
  const outputs = board.pins.filter((pin) => pin.direction === 'out' && pin.function === 'sio');
  const lines = [
    '/* Made from pins.json by make-pins.mjs: change that file, not this one. */',
    '#ifndef SMIRR_PINS_H',
    '#define SMIRR_PINS_H',
  ];
  for (const pin of board.pins) {
    lines.push(`#define PIN_${upper(pin.name)} ${pin.gpio}`);
    lines.push(`#define MASK_${upper(pin.name)} (1u << ${pin.gpio})`);
    lines.push(`#define ACTIVE_LOW_${upper(pin.name)} ${pin.active === 'low' ? 1 : 0}`);
  }
  const mask = outputs.reduce((bits, pin) => bits + 2 ** pin.gpio, 0);
  lines.push(`#define OUTPUTS_SAFE_LOW 0x${mask.toString(16)}u`);
  lines.push(`#define FOR_EACH_OUTPUT(DO) ${outputs.map((pin) => `DO(${pin.gpio})`).join(' ')}`);
  const each = board.pins.map((pin) => {
    const name = FUNCTIONS[/** @type {keyof typeof FUNCTIONS} */ (pin.function)];
    return `  DO(${pin.gpio}, ${padOf(pin)}, GPIO_FUNCTION_${name})`;
  });
  lines.push(`#define FOR_EACH_PIN(DO) \\\n${each.join(' \\\n')}`);
  lines.push(...analogueLines(board));
  lines.push('#endif', '');
  return lines.join('\n');
}

/** @param {Pins} board */
function analogueLines(board) {
  const { select, channel, inputs, order } = board.switch;
  const channelOf = (/** @type {string} */ name) =>
    Object.keys(inputs).find((index) => inputs[index] === name) ?? '0';
  const place = (/** @type {string} */ name) => {
    const at = INPUTS.indexOf(name);
    if (at < 0) throw new Error(`pins.json: the switch has an unknown input '${name}'`);
    return at;
  };
  return [
    ...board.analogue.map((input) => `#define CHANNEL_${upper(input.name)} ${input.channel}`),
    `#define SWITCH_CHANNEL ${channel}`,
    `#define SELECT_MASK (${select.map((pin) => `1u << ${pin}`).join(' | ')})`,
    `#define SELECT_BITS(channel) (${select.map((pin, bit) => `((channel) >> ${bit} & 1u) << ${pin}`).join(' | ')})`,
    '#define SWITCH_SETTLE_US 200u',
    `#define SWITCH_ORDER {${order.map(place).join(', ')}}`,
    `#define SWITCH_CHANNEL_BY_INPUT {${INPUTS.map(channelOf).join(', ')}}`,
    `#define FEEDBACK_HIGH_FROM ${board.levels.feedbackHighFrom}`,
    `#define FEEDBACK_LOW_TO ${board.levels.feedbackLowTo}`,
    `#define LEVEL_SWITCH_WET_BELOW ${board.levels.levelSwitchWetBelow}`,
  ];
}
