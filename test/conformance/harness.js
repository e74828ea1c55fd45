/* global smirr, print, CONFORMANCE */
/**
 * Runs in every engine that is compared: V8, duk, mujs, QuickJS. It starts one core after another,
 * feeds each with the recorded inputs of its run or with inputs of a seeded generator, and writes a
 * line a tick: number of the tick, output word, digest of the state. ES5 and whole numbers only, so
 * that the inputs themselves cannot differ. Asked to (`dumpAt`), it writes one tick's whole state.
 */
(function () {
  var CODE_COUNT = 21;
  var FIRST_PERIOD = 2;
  var PULSE_AGE = 6;
  var BOOST = 7;
  var RAIL = 8;
  var CHARGE = 9;
  var AMBIENT = 10;
  var HUMIDITY = 11;
  var SPEED_PERIOD = 12;
  var SPEED_AGE = 13;
  var LEVEL = 14;
  var SUPPLY = 15;
  var FEEDBACK = 16;
  var ARM = 17;
  var STAGE = 18;
  var BUTTON = 19;
  var MAINTENANCE = 20;
  var ALL_INPUTS = 511;

  /** @type {number} */
  var random = 1;

  /**
   * A whole number from 0 to `count` - 1: the generator xorshift32 (Marsaglia, 2003), shifts only.
   * @param {number} count
   * @returns {number}
   */
  function below(count) {
    random ^= random << 13;
    random ^= random >>> 17;
    random ^= random << 5;
    return (random >>> 1) % count;
  }

  /**
   * A part of the way from `value` to `goal`, give or take the noise.
   * @param {number} value
   * @param {number} goal
   * @param {number} noise
   * @returns {number}
   */
  function wander(value, goal, noise) {
    return value + ((goal - value) >> 5) + below(2 * noise + 1) - noise;
  }

  /** What the generated inputs are on their way to; a new mood every few seconds. */
  var mood = { ticks: 0, rpm: 0, boost: 0, charge: 0, ambient: 0, speed: 0, loose: 0 };
  var rpm = 0;
  var speedDkmh = 0;
  var buttonTicks = 0;
  var nowMs = 0;
  var fresh = 0;
  var wildIndex = -1;
  var wildValue = 0;
  /** @type {number[]} */
  var codes = [];

  function chooseMood() {
    var isHard = below(4) !== 0;
    mood.ticks = 50 + below(400);
    mood.rpm = isHard ? 2500 + below(5000) : below(3) === 0 ? 0 : below(1500);
    mood.boost = isHard ? 16000 + below(20000) : 11000 + below(3000);
    mood.charge = isHard ? 15000 + below(20000) : 3000 + below(30000);
    mood.ambient = below(8) === 0 ? below(60000) : 12000 + below(9000);
    mood.speed = isHard ? 300 + below(1500) : below(80);
    mood.loose = below(6) === 0 ? 1 : 0;
    codes[ARM] = below(10) === 0 ? 0 : 1;
    codes[STAGE] = below(8) === 0 ? 0 : 1;
    codes[MAINTENANCE] = below(20) === 0 ? 1 : 0;
    codes[LEVEL] = below(12) === 0 ? below(65536) : 30000 + below(3000);
    codes[SUPPLY] = below(12) === 0 ? below(65536) : 21000 + below(3000);
    codes[RAIL] = 49000 + below(500);
    codes[HUMIDITY] = below(65536);
  }

  /** @param {number} seed */
  function beginGenerated(seed) {
    var index;
    random = seed;
    nowMs = below(1000000);
    for (index = 0; index < CODE_COUNT; index++) codes[index] = 0;
    codes[BOOST] = 12000;
    codes[CHARGE] = 12000;
    codes[AMBIENT] = 15000;
    rpm = 900;
    speedDkmh = 0;
    buttonTicks = 0;
    wildIndex = -1;
    chooseMood();
  }

  /** @returns {number} whatever 32 bits may hold, often at an edge */
  function anyNumber() {
    var kind = below(6);
    if (kind === 0) return (below(0x40000000) << 2) ^ below(16);
    if (kind === 1) return 65535 + below(3);
    if (kind === 2) return -below(3);
    if (kind === 3) return below(2) === 0 ? 0x7fffffff : -0x80000000;
    if (kind === 4) return below(2) === 0 ? 0x3fffffff : -0x40000000;
    return below(65536);
  }

  function moveTime() {
    var kind = below(256);
    if (kind === 0) nowMs += below(300);
    else if (kind === 1) nowMs += below(50000) - 20000;
    else if (kind < 6) nowMs += 40 + below(60);
    else nowMs += 19 + below(3);
    // A board's clock wraps; where does not matter, since the core masks it.
    nowMs &= 0x7fffffff;
  }

  /** @param {number} lastWord */
  function generate(lastWord) {
    var index;
    moveTime();
    if (wildIndex >= 0) codes[wildIndex] = wildValue;
    wildIndex = -1;
    if (mood.ticks-- === 0) chooseMood();
    rpm = wander(rpm, mood.rpm, 20);
    if (rpm < 0) rpm = 0;
    if (rpm > 30) {
      for (index = 3; index > 0; index--)
        codes[FIRST_PERIOD + index] = codes[FIRST_PERIOD + index - 1];
      codes[FIRST_PERIOD] = ((30000000 / rpm) | 0) + below(100);
      codes[PULSE_AGE] = below(20);
    } else {
      codes[PULSE_AGE] += 20;
    }
    speedDkmh = wander(speedDkmh, mood.speed, 2);
    if (speedDkmh < 1) speedDkmh = 0;
    codes[SPEED_PERIOD] = speedDkmh === 0 ? 0 : (36000000 / speedDkmh) | 0;
    codes[SPEED_AGE] = speedDkmh === 0 ? codes[SPEED_AGE] + 20 : below(100);
    codes[BOOST] = wander(codes[BOOST], mood.boost, below(50) === 0 ? 8000 : 100);
    codes[CHARGE] = wander(codes[CHARGE], mood.charge, below(200) === 0 ? 9000 : 20);
    codes[AMBIENT] = wander(codes[AMBIENT], mood.ambient, 20);
    if (buttonTicks > 0) buttonTicks--;
    else if (below(150) === 0) buttonTicks = below(10) === 0 ? 50 + below(600) : 1 + below(40);
    codes[BUTTON] = buttonTicks > 0 ? 1 : 0;
    codes[FEEDBACK] = below(400) === 0 ? 1 - (lastWord & 1) : lastWord & 1;
    fresh = ALL_INPUTS;
    if (mood.loose === 1 && below(12) === 0) mood.loose = 1 << (1 + below(9));
    if (mood.loose > 1) fresh &= ~(mood.loose >> 1);
    if (below(40) !== 0) return;
    wildIndex = FIRST_PERIOD + below(CODE_COUNT - FIRST_PERIOD);
    wildValue = codes[wildIndex];
    codes[wildIndex] = anyNumber();
  }

  /** @type {readonly string[]} */
  var texts = [];
  var textIndex = 0;
  var text = '';
  var textAt = 0;

  /** @returns {number} the next number of the recorded inputs */
  function nextNumber() {
    var end, number;
    if (textAt === text.length) {
      text = texts[textIndex++];
      textAt = 0;
    }
    end = text.indexOf(' ', textAt);
    number = parseInt(text.substring(textAt, end), 36);
    textAt = end + 1;
    return number;
  }

  /** @param {number} lastWord */
  function recall(lastWord) {
    var count;
    nowMs = nextNumber();
    fresh = nextNumber();
    for (count = nextNumber(); count > 0; count--) codes[nextNumber()] = nextNumber();
    // A recording knows nothing of the outputs; the pump circuit does as it was told.
    codes[FEEDBACK] = lastWord & 1;
  }

  /**
   * @param {number} part
   * @param {readonly number[]} numbers
   */
  function hand(part, numbers) {
    var index;
    for (index = 0; index < numbers.length; index++) smirr.set(part, index, numbers[index]);
  }

  function dump() {
    var index;
    for (index = 0; index < smirr.words(); index++) {
      print('state ' + smirr.wordName(index) + ' ' + smirr.word(index));
    }
    for (index = 0; index < CODE_COUNT; index++) print('code ' + index + ' ' + codes[index]);
  }

  var total = 0;

  /** @param {ConformanceRun} run */
  function runCore(run) {
    var tick, index, word, refused;
    hand(0, run.settings);
    hand(1, run.calibration);
    hand(2, run.boot);
    refused = smirr.start(run.settings.length, run.calibration.length);
    print('start ' + run.name + ' ' + refused + ' ' + smirr.digest());
    beginGenerated(run.seed);
    texts = run.inputs;
    textIndex = 0;
    text = '';
    textAt = 0;
    word = 0;
    for (tick = 0; tick < run.ticks; tick++) {
      if (texts.length === 0) generate(word);
      else recall(word);
      for (index = FIRST_PERIOD; index < CODE_COUNT; index++) smirr.code(index, codes[index]);
      word = smirr.tick(nowMs, fresh);
      print(total + ' ' + word + ' ' + smirr.digest());
      if (total === CONFORMANCE.dumpAt) dump();
      total++;
    }
  }

  var next;
  for (next = 0; next < CONFORMANCE.runs.length; next++) runCore(CONFORMANCE.runs[next]);
})();
