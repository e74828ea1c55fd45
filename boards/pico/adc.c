/*
 * The converter: single shots of 12 bits, sixteen of them summed to a code of 16 bits. Round robin is
 * not used. RP2040 datasheet chapter 4.9: 96 periods of 48 MHz a shot, so 32 us a code.
 */
#include "board.h"

#define ENABLED (1u << 0)
#define START_ONCE (1u << 2)
#define READY (1u << 8)
#define CHANNEL(channel) ((channel) << 12)
#define SHOTS 16

void adc_start(void) {
    REGISTER(ADC_CS) = ENABLED;
    while (!(REGISTER(ADC_CS) & READY)) {}
}

/* A code of 0..65535. */
uint32_t adc_code(unsigned channel) {
    uint32_t sum = 0;
    REGISTER(ADC_CS) = ENABLED | CHANNEL(channel);
    for (int shot = 0; shot < SHOTS; shot++) {
        REGISTER(ADC_CS) = ENABLED | CHANNEL(channel) | START_ONCE;
        while (!(REGISTER(ADC_CS) & READY)) {}
        sum += REGISTER(ADC_RESULT) & 0xfff;
    }
    return sum + (sum >> 12); /* 16 x 4095 becomes 65535 */
}
