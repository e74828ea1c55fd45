/**
 * The built-in itinerary: an invented day in invented hills, as the text of its file. It is what
 * `smirr plan demo:hills` plans, what `smirr plan --example` writes, and the example of docs/plan.md.
 */

/** The itinerary that needs no file. */
export const DEMO_ITINERARY = 'demo:hills';

export const EXAMPLE_ITINERARY = `kind: smirr-itinerary
version: 1
name: Two loops in the hills
date: 2026-07-11
start: 08:30
# The air of the day; a leg may have its own.
weather:
  ambient: 35 degC
  humidity: 30 %
  altitude: 620 m
# How far off the forecast may be.
spread:
  ambient: 3 degC
  humidity: 10 %

legs:
  - road: To the first start
    length: 18 km
    minutes: 30
  - stage: Larch Pass
    length: 12.4 km
    minutes: 8.5
    kind: hill-climb
    weather: { ambient: 30 degC, humidity: 40 %, altitude: 1150 m }
  - road: Down to the valley
    length: 26 km
    minutes: 40
  - stage: River Loop
    length: 17.8 km
    minutes: 10
    kind: asphalt
  - wait: Regroup
    minutes: 20
  - service: Field service
    minutes: 30
    refill: yes
  - stage: Larch Pass, second time
    length: 12.4 km
    minutes: 8.3
    kind: hill-climb
    weather: { ambient: 34 degC, humidity: 32 %, altitude: 1150 m }
  - road: Down to the valley again
    length: 26 km
    minutes: 40
  - stage: River Loop, second time
    length: 17.8 km
    minutes: 9.8
    kind: asphalt
    weather: { ambient: 39 degC, humidity: 22 % }
  - stage: Quarry
    length: 4.6 km
    minutes: 4.2
    kind: gravel
    weather: { ambient: 40 degC, humidity: 20 % }
  - road: Home
    length: 21 km
    minutes: 30

# What is there; 'choose' leaves the choice to the plan.
tank: 3 L
nozzle:
  flow: 120 ml/min
  at: 5 bar
  count: choose
  bore: 0.4 mm
pump:
  curve:
    0 L/min: 6.9 bar
    1 L/min: 5.6 bar
    2 L/min: 4 bar
    3.4 L/min: 0 bar
  current: 5.2 A
wire:
  length: 3.2 m
  crossSection: choose
fuse: choose
`;
