/**
 * Every message a user can meet, by its stable code: the exit code it ends with and what it is
 * about. docs/messages.md is made from this table. A code, once given, is never reused.
 * Exit codes: 2 usage; 3 a file or value is bad; 4 port or device; 5 our own fault.
 */
export interface MessageRow {
  readonly exit: 1 | 2 | 3 | 4 | 5;
  /** What happened, in general. */
  readonly about: string;
  /** What the reader can do. */
  readonly remedy: string;
}

export const MESSAGES = {
  'E-USAGE-01': {
    exit: 2,
    about: 'an unknown command or option',
    remedy: 'the message names the nearest one; see --help',
  },
  'E-USAGE-02': {
    exit: 2,
    about: 'an argument or an option is missing, too many, or given twice',
    remedy: 'the message says which; see --help',
  },
  'E-USAGE-03': {
    exit: 2,
    about: 'the value of an option cannot be read, or its unit is missing or of another quantity',
    remedy: 'write it as in the examples of --help, for example 990hPa or 1.5L',
  },
  'E-FILE-01': {
    exit: 3,
    about: 'a file is not there',
    remedy: 'check the spelling of its name and the folder you are in',
  },
  'E-FILE-02': {
    exit: 3,
    about: 'a file cannot be read, or is a folder',
    remedy: 'give a file that you may read',
  },
  'E-FILE-03': {
    exit: 3,
    about: 'a file is longer than its kind may be',
    remedy: 'give the right file; a settings file is a page of text',
  },
  'E-FILE-04': {
    exit: 3,
    about: 'a result cannot be written; nothing half-written is left',
    remedy: 'give a name in a folder that is there and that you may write to',
  },
  'E-FILE-05': {
    exit: 3,
    about: 'a result would replace a file that it must not replace',
    remedy: 'choose another name for the result: after --out, --html or, of prove, --violation',
  },
  'E-OPEN-01': {
    exit: 3,
    about: 'a file that the workbench is to open as a page is none that smirr wrote',
    remedy: 'give a page that replay, tune, plan, prove or calibrate wrote with --html',
  },
  'E-SETTINGS-01': {
    exit: 3,
    about: 'a file is no settings file: another kind, a recording, binary, or empty',
    remedy: 'give a file that begins with "kind: smirr-settings"; smirr settings init makes one',
  },
  'E-SETTINGS-02': {
    exit: 3,
    about: 'the format version of a settings file is missing, unknown or newer than this smirr',
    remedy: 'write "version: 1", or use the smirr that made the file',
  },
  'E-SETTINGS-03': {
    exit: 3,
    about: 'a settings file is no YAML that is read here: one level of "name: value" lines',
    remedy: 'mend the place that the message names',
  },
  'E-SETTINGS-04': {
    exit: 3,
    about: 'a settings file has a name that is no setting',
    remedy: 'the message names the nearest one; smirr settings list shows all',
  },
  'E-SETTINGS-05': {
    exit: 3,
    about: 'a settings file gives a setting twice',
    remedy: 'delete one of the two lines',
  },
  'E-SETTINGS-06': {
    exit: 3,
    about: 'the value of a setting cannot be read, or its unit is missing or of another quantity',
    remedy: 'write a number and its unit, for example "tempOn: 48 degC"',
  },
  'E-SETTINGS-07': {
    exit: 3,
    about: 'the value of a setting is out of its range',
    remedy: 'choose a value within the range; the message says what the range protects',
  },
  'E-SETTINGS-08': {
    exit: 3,
    about: 'two settings contradict each other',
    remedy: 'change one of the two; the message says why they depend on each other',
  },
  'E-INTERNAL-01': {
    exit: 5,
    about: 'a fault of smirr itself',
    remedy: 'please report it with the command line; --verbose shows where it happened',
  },
  'E-TRACE-01': {
    exit: 3,
    about: 'a trace is empty',
    remedy: 'give the file the logger wrote; it may not have been closed properly',
  },
  'E-TRACE-02': {
    exit: 3,
    about: 'a trace is not text: binary, compressed or a spreadsheet',
    remedy: 'unpack it, or export it from the logger as CSV',
  },
  'E-TRACE-03': {
    exit: 3,
    about: 'a settings file or another file of our own was given as a trace',
    remedy: 'give the recorded run; settings go behind --settings',
  },
  'E-TRACE-04': {
    exit: 3,
    about: 'a row of a CSV file cannot be taken apart',
    remedy: 'look at the quotes in the row named; a quote inside a cell is doubled',
  },
  'E-TRACE-05': {
    exit: 3,
    about: 'a row of a CSV file is longer than 64 KB',
    remedy: 'look for a quote that is never closed in the row named; or the file is no trace',
  },
  'E-TRACE-06': {
    exit: 3,
    about: 'a trace has no column for time, engine speed, pressure or charge temperature',
    remedy: 'name the column with --column; docs/traces.md says what is found by itself',
  },
  'E-TRACE-07': {
    exit: 3,
    about: 'two columns of a trace fit a channel equally well',
    remedy: 'choose one with --column, as the message shows',
  },
  'E-TRACE-08': {
    exit: 3,
    about: 'a pressure column names no unit',
    remedy: 'write the unit behind the name, as the message shows',
  },
  'E-TRACE-09': {
    exit: 3,
    about: 'the unit of a column is not known, or is one of another quantity',
    remedy: 'name another column, or write the unit as docs/traces.md lists it',
  },
  'E-TRACE-10': {
    exit: 3,
    about: 'a column named with --column is not in the trace',
    remedy: 'copy the name from the list in the message',
  },
  'E-TRACE-11': {
    exit: 2,
    about: '--column or a column map names something that is no channel',
    remedy: 'use a name from the list in the message',
  },
  'E-TRACE-12': {
    exit: 3,
    about: 'a trace has a header but no rows',
    remedy: 'give the file the logger wrote; it may not have been closed properly',
  },
  'E-TRACE-13': {
    exit: 3,
    about: 'too many rows of a trace cannot be read',
    remedy: 'look at the place named; a wrong separator, unit or column is the usual cause',
  },
  'E-TRACE-14': {
    exit: 3,
    about: 'no row of a trace has all values that are needed',
    remedy: 'look whether the columns named are ever filled',
  },
  'E-TRACE-15': {
    exit: 3,
    about: 'a trace lasts longer than 24 hours',
    remedy: 'look at the row named; the unit of time or the clock of the logger is wrong',
  },
  'E-TRACE-16': {
    exit: 3,
    about: 'a log of OBD-II answers lacks a PID that is needed',
    remedy: 'log engine speed (0C), manifold pressure (0B) and intake air (0F)',
  },
  'E-TRACE-17': {
    exit: 3,
    about: 'a file is no column map',
    remedy: 'begin it with kind: smirr-columns and version: 1; see docs/traces.md',
  },
  'E-TRACE-18': {
    exit: 2,
    about: 'an option for reading a trace is out of range',
    remedy: 'give a value between the bounds in the message',
  },
  'E-CALIBRATION-01': {
    exit: 3,
    about: 'a file is no calibration file: another kind, a recording, binary, or empty',
    remedy: 'give a file that begins with "kind: smirr-calibration"; docs/pack.md shows one',
  },
  'E-CALIBRATION-02': {
    exit: 3,
    about: 'the format version of a calibration file is missing, unknown or newer than this smirr',
    remedy: 'write "version: 1", or use the smirr that made the file',
  },
  'E-CALIBRATION-03': {
    exit: 3,
    about: 'a calibration file is no YAML that is read here, or a group or value has another form',
    remedy: 'mend the place that the message names; docs/pack.md shows the form',
  },
  'E-CALIBRATION-04': {
    exit: 3,
    about: 'a calibration file has a name that is not known there',
    remedy: 'the message names the nearest one; docs/pack.md lists all',
  },
  'E-CALIBRATION-05': {
    exit: 3,
    about: 'a calibration file gives a name twice',
    remedy: 'delete one of the two',
  },
  'E-CALIBRATION-06': {
    exit: 3,
    about: 'a value of a calibration cannot be read, or its unit is missing or of another quantity',
    remedy: 'write it as the message shows',
  },
  'E-CALIBRATION-07': {
    exit: 3,
    about: 'a value of a calibration is out of its range',
    remedy: 'choose a value within the bounds of the message',
  },
  'E-CALIBRATION-08': {
    exit: 3,
    about: 'a calibration file leaves out what must be said',
    remedy: 'add it; an input that this car does not have is said to be not-fitted',
  },
  'E-CALIBRATION-09': {
    exit: 3,
    about: 'values of a calibration contradict each other, or the board',
    remedy: 'change one of them; the message says what does not go together',
  },
  'E-CALIBRATE-01': {
    exit: 3,
    about: 'a file is no readings file: another kind, a recording, binary, or empty',
    remedy: 'give a file that begins with "kind: smirr-readings"; docs/calibrate.md shows one',
  },
  'E-CALIBRATE-02': {
    exit: 3,
    about: 'the format version of a readings file is missing, unknown or newer than this smirr',
    remedy: 'write "version: 1", or use the smirr that made the file',
  },
  'E-CALIBRATE-03': {
    exit: 3,
    about: 'a readings file is no YAML that is read here, or a group or value has another form',
    remedy: 'mend the place that the message names; docs/calibrate.md shows the form',
  },
  'E-CALIBRATE-04': {
    exit: 3,
    about: 'a readings file has a name that is not known there',
    remedy: 'the message names the nearest one; docs/calibrate.md lists all',
  },
  'E-CALIBRATE-05': {
    exit: 3,
    about: 'a readings file gives a name or a point twice',
    remedy: 'delete one of the two',
  },
  'E-CALIBRATE-06': {
    exit: 3,
    about: 'a reading cannot be read, or its unit is missing or of another quantity',
    remedy: 'write it as the message shows',
  },
  'E-CALIBRATE-07': {
    exit: 3,
    about: 'a reading is out of its range',
    remedy: 'measure again, or look for a slip of the unit',
  },
  'E-CALIBRATE-08': {
    exit: 3,
    about: 'a readings file leaves out what must be said, or says it in two ways',
    remedy: 'add it, or keep one of the two',
  },
  'E-CALIBRATE-09': {
    exit: 3,
    about: 'there are too few points for a sensor, or they are too near together',
    remedy: 'measure more, further apart',
  },
  'E-CALIBRATE-10': {
    exit: 3,
    about: 'the points of a sensor turn back: no sensor does',
    remedy: 'two points are exchanged, or one was written down wrong',
  },
  'E-CALIBRATE-11': {
    exit: 3,
    about: 'a sensor leaves the range of the converter or of the device',
    remedy: 'fit a sensor or a resistor that suits the range; a broken wire must stay visible',
  },
  'E-CALIBRATE-12': {
    exit: 3,
    about: 'the points of a sensor contradict each other',
    remedy: 'measure the point again that the message names',
  },
  'E-CALIBRATE-13': {
    exit: 3,
    about: 'an input cannot be read live, or into this readings file',
    remedy: 'do as the message says, or type what a meter shows into the readings file',
  },
  'E-PACK-01': {
    exit: 3,
    about: 'the engine image or the core bundle of a board is not built',
    remedy: 'run npm run board:build in a checkout; the npm package carries both',
  },
  'E-PACK-02': {
    exit: 3,
    about: 'an engine image fails its check',
    remedy: 'build it anew with npm run board:build',
  },
  'E-PACK-03': {
    exit: 3,
    about: 'a core bundle fails its check',
    remedy: 'build it anew with npm run build',
  },
  'E-PACK-04': {
    exit: 3,
    about: 'settings and calibration do not go together',
    remedy: 'change one of the two as the message says',
  },
  'E-PACK-05': {
    exit: 3,
    about: 'a file is no read-out of a flash that can be compared',
    remedy: 'read from address 0x10000000 on; docs/pack.md says how',
  },
  'E-BOARD-01': {
    exit: 4,
    about: 'the emulated board did not start, or did what a real chip would answer with a fault',
    remedy: 'the message says what and where; build it anew with npm run board:build',
  },
  'E-LINK-01': {
    exit: 4,
    about: 'there is no such serial port',
    remedy: 'smirr ports lists the ports that are there',
  },
  'E-LINK-02': {
    exit: 4,
    about: 'a serial port is in use, may not be used, or cannot be opened',
    remedy: 'close the other program; on Linux your user needs the group dialout',
  },
  'E-LINK-03': {
    exit: 4,
    about: 'the connection to the controller was lost in the middle of a command',
    remedy: 'check plug and power, then repeat the command; a write was whole or was not done',
  },
  'E-LINK-04': {
    exit: 4,
    about: 'nothing, or another device, answers on a port',
    remedy: 'smirr ports shows which port has a controller; its line is 115,200 baud, 8N1',
  },
  'E-LINK-05': {
    exit: 4,
    about: 'the controller speaks another version of the link or carries the core of another smirr',
    remedy: 'flash a pack of this smirr, or use the smirr that packed what it carries',
  },
  'E-LINK-06': {
    exit: 4,
    about: 'the controller refuses what was asked of it, with the reason',
    remedy: 'open the arm switch or the lock strap, close the bench strap: the message says which',
  },
  'E-LINK-07': {
    exit: 4,
    about: 'the port emulator cannot be made, or an injection ended before its trace did',
    remedy: 'the message says why; npm run board:build makes the image that is emulated',
  },
  'E-LINK-08': {
    exit: 4,
    about: 'what was read from the controller is not what it should be',
    remedy: 'read again; if it stays, flash a pack anew',
  },
  'E-RECORD-01': {
    exit: 3,
    about: 'the run log holds no run, or not the run of that number',
    remedy: 'smirr recall without --run, -o and --replay lists the runs that are there',
  },
  'E-RECORD-02': {
    exit: 3,
    about: 'a file is no read-out of a flash that reaches to the end of the run log',
    remedy: 'read all 2 MB from address 0x10000000 on; docs/recorder.md says how',
  },
  'E-RECORD-03': {
    exit: 3,
    about: 'a recorded run cannot be replayed here: another core, or its beginning is not whole',
    remedy: 'use the smirr that packed what the controller carries, or another run',
  },
  'E-SELFTEST-01': {
    exit: 3,
    about: 'a self-test got no answer that it can use, or standard input ended',
    remedy: 'answer as the question says, a line an answer; outputs are open, begin anew',
  },
  'E-CAR-01': {
    exit: 3,
    about: 'a file is no car file: another kind, a recording, binary, or empty',
    remedy: 'give a file that begins with "kind: smirr-car"; docs/model.md shows one',
  },
  'E-CAR-02': {
    exit: 3,
    about: 'the format version of a car file is missing, unknown or newer than this smirr',
    remedy: 'write "version: 1", or use the smirr that made the file',
  },
  'E-CAR-03': {
    exit: 3,
    about: 'a car file is no YAML that is read here, or a group or value has another form',
    remedy: 'mend the place that the message names; docs/model.md shows the form',
  },
  'E-CAR-04': {
    exit: 3,
    about: 'a car file has a name that is not known there',
    remedy: 'the message names the nearest one; docs/model.md lists all',
  },
  'E-CAR-05': {
    exit: 3,
    about: 'a car file gives a name twice',
    remedy: 'delete one of the two',
  },
  'E-CAR-06': {
    exit: 3,
    about: 'a value of a car cannot be read, or its unit is missing or of another quantity',
    remedy: 'write a number, its unit and where it is from, for example "hot: 1100 W/K (assumed)"',
  },
  'E-CAR-07': {
    exit: 3,
    about: 'a value of a car is out of its range, or a list or curve does not rise',
    remedy: 'choose a value within the bounds of the message',
  },
  'E-CAR-08': {
    exit: 3,
    about: 'two values of a car contradict each other',
    remedy: 'change one of the two; the message says why',
  },
  'E-COURSE-01': {
    exit: 3,
    about: 'a file is no course file: another kind, a recording, binary, or empty',
    remedy: 'give a file that begins with "kind: smirr-course"; docs/course.md shows one',
  },
  'E-COURSE-02': {
    exit: 3,
    about: 'the format version of a course file is missing, unknown or newer than this smirr',
    remedy: 'write "version: 1", or use the smirr that made the file',
  },
  'E-COURSE-03': {
    exit: 3,
    about: 'a course file is no YAML that is read here, or a group, list or value has another form',
    remedy: 'mend the place that the message names; docs/course.md shows the form',
  },
  'E-COURSE-04': {
    exit: 3,
    about: 'a course file has a name that is not known there, or a piece that is none',
    remedy: 'the message names the nearest one, or all that there are',
  },
  'E-COURSE-05': {
    exit: 3,
    about: 'a course file gives a name twice',
    remedy: 'delete one of the two',
  },
  'E-COURSE-06': {
    exit: 3,
    about: 'a value of a course cannot be read, or its unit is missing or of another quantity',
    remedy: 'write a number and its unit, for example "straight: 130 m"',
  },
  'E-COURSE-07': {
    exit: 3,
    about: 'a value of a course is out of its range',
    remedy: 'choose a value within the bounds of the message',
  },
  'E-COURSE-08': {
    exit: 3,
    about: 'a course file leaves out what must be said',
    remedy: 'add it, as the message shows',
  },
  'E-COURSE-09': {
    exit: 3,
    about: 'values of a course contradict each other',
    remedy: 'change one of them; the message says what does not go together',
  },
  'E-PLAN-01': {
    exit: 3,
    about: 'a file is no itinerary: another kind, a recording, binary, or empty',
    remedy: 'give a file that begins with "kind: smirr-itinerary"; docs/plan.md shows one',
  },
  'E-PLAN-02': {
    exit: 3,
    about: 'the format version of an itinerary is missing, unknown or newer than this smirr',
    remedy: 'write "version: 1", or use the smirr that knows it',
  },
  'E-PLAN-03': {
    exit: 3,
    about: 'an itinerary is no YAML that is read here, or a group or value has another form',
    remedy: 'mend the place that the message names; docs/plan.md shows the form',
  },
  'E-PLAN-04': {
    exit: 3,
    about: 'an itinerary has a name that is not known there',
    remedy: 'the message names the nearest one; docs/plan.md lists all',
  },
  'E-PLAN-05': {
    exit: 3,
    about: 'an itinerary gives a name twice',
    remedy: 'delete one of the two',
  },
  'E-PLAN-06': {
    exit: 3,
    about: 'a value of an itinerary cannot be read, or its unit is missing or of another quantity',
    remedy: 'write it as the message shows',
  },
  'E-PLAN-07': {
    exit: 3,
    about: 'a value of an itinerary is out of its range',
    remedy: 'choose a value within the bounds of the message',
  },
  'E-PLAN-08': {
    exit: 3,
    about: 'an itinerary leaves out what must be said',
    remedy: 'add it; docs/plan.md says what each value is',
  },
  'E-PLAN-09': {
    exit: 3,
    about: 'values of an itinerary contradict each other',
    remedy: 'change one of them; the message says what does not go together',
  },
  'E-PROVE-01': {
    exit: 3,
    about: 'a file is no evidence report that can be repeated',
    remedy: 'give the file that smirr prove --json wrote',
  },
  'E-PROVE-02': {
    exit: 3,
    about: 'a page cannot be printed to PDF',
    remedy: 'install Chromium, or print the page of --html from a browser',
  },
  'E-PROVE-03': {
    exit: 3,
    about: 'recorded runs are not those that a report was made with',
    remedy: 'name behind --again the same files in the same order; the message says which',
  },
  'E-PROVE-04': {
    exit: 3,
    about: 'a value of an evidence report is missing, unknown or out of its bounds',
    remedy:
      'give the file as smirr prove --json wrote it; one of an earlier smirr cannot be repeated',
  },
  'E-TUNE-01': {
    exit: 2,
    about: '--vary names something that is no setting',
    remedy: 'the message names the nearest one; smirr settings list shows all',
  },
  'E-TUNE-02': {
    exit: 2,
    about: '--vary cannot be read: no range with a step, no list, no unit, or a setting twice',
    remedy: 'write it as in tempOn=40..60degC:1, restHot=3s,4.5s,6s or burst=auto',
  },
  'E-TUNE-03': {
    exit: 2,
    about: '--vary leaves nothing to try: an empty range, a step of zero, values out of range',
    remedy: 'choose values within the range of the setting; smirr settings list shows it',
  },
  'E-TUNE-04': {
    exit: 2,
    about: 'a search would take more runs than --most, or fewer than say anything',
    remedy: 'take larger steps, vary fewer settings, or change --most or --runs',
  },
  'E-TUNE-05': {
    exit: 3,
    about: 'a trace is too short to judge settings by',
    remedy: 'give a recording of a minute or more',
  },
  'E-TUNE-06': {
    exit: 3,
    about: 'traces that are tuned together have different columns',
    remedy: 'tune them apart, or leave the column out of all as the message shows',
  },
  'E-TUNE-07': {
    exit: 3,
    about: 'a file holds no results of a search, or those of another version of smirr',
    remedy: 'give the file that smirr tune --shard wrote; make every part with the same version',
  },
  'E-TUNE-08': {
    exit: 3,
    about: 'parts do not make a whole: one is missing, given twice, unfinished, damaged or foreign',
    remedy: 'make the part that the message names again; --resume goes on with an unfinished one',
  },
  'E-TUNE-09': {
    exit: 3,
    about: 'results are those of another search: other traces, settings, values, seed or version',
    remedy: 'repeat the command that made them, or start anew without them',
  },
  'E-TUNE-10': {
    exit: 5,
    about: 'a worker of a search failed',
    remedy: 'call the same command with --resume; what was done is kept',
  },
  'E-TUNE-11': {
    exit: 1,
    about: 'a pick breaks the settings’ check or a property of the contract, so it is not written',
    remedy: 'report it with the command; do not drive with these settings',
  },
  'E-FIT-01': {
    exit: 3,
    about: 'a recording has water in it: its spray column or the feedback of the pump says so',
    remedy: 'fit to a run that was driven dry',
  },
  'E-FIT-02': {
    exit: 3,
    about: 'a recording has no charge temperature but intake air',
    remedy: 'name the column with --column charge= if its sensor sits behind the cooler',
  },
  'E-FIT-03': {
    exit: 3,
    about: 'a recording is too short to be fitted to',
    remedy: 'record a stage with a standing start, some minutes long',
  },
  'E-FIT-04': {
    exit: 3,
    about: 'a recording lacks vehicle speed or ambient temperature, which the model needs',
    remedy: 'name the column with --column, or say the air with --weather',
  },
  'E-FIT-05': {
    exit: 3,
    about: 'a recording tells none of the values that are fitted',
    remedy: 'record a run with full boost, bends and standstill',
  },
  'E-FIT-06': {
    exit: 3,
    about: 'a recording does not follow the model, however its values are chosen',
    remedy: 'look whether the charge column is the sensor behind the cooler, and the run was dry',
  },
  'E-LOOP-01': {
    exit: 2,
    about: 'a trace without vehicle speed cannot be run through the model',
    remedy: 'say the speed with --speed, or give the car file its vehicle.gears',
  },
  'E-LOOP-02': {
    exit: 2,
    about: 'a trace without ambient temperature cannot be run through the model',
    remedy: 'say the air of the day with --weather, for example --weather 24degC',
  },
} as const satisfies Record<string, MessageRow>;

export type MessageCode = keyof typeof MESSAGES;
