/*
 * Serial line, 115,200 baud, 8 data bits, no parity, 1 stop bit. What arrives goes into a ring of 1 KB
 * by an interrupt in RAM; what is printed goes into another, emptied each millisecond into the
 * sending FIFO of 32 bytes, so that nobody waits. RP2040 datasheet chapter 4.2.
 */
#include "board.h"

#define RING 1024u

static uint8_t received[RING], to_send[RING];
static volatile uint32_t received_in, received_out, send_in, send_out;
volatile uint32_t uart_dropped;

void uart_start(void) {
    /* 4.2.7.1: 125 MHz / (16 x 115200) = 67 + 52/64. */
    REGISTER(UART_BAUD_WHOLE) = 67;
    REGISTER(UART_BAUD_FRACTION) = 52;
    REGISTER(UART_LINE) = 0x70;   /* 8 bits, FIFOs on */
    REGISTER(UART_CTRL) = 0x301;  /* enable, send, receive */
    REGISTER(UART_LEVELS) = 2 << 3; /* receive interrupt at half full */
    REGISTER(UART_INTERRUPT_MASK) = (1u << 4) | (1u << 6); /* receive, and receive timeout */
    REGISTER(NVIC_ENABLE) = 1u << INTERRUPT_UART0;
}

IN_RAM void uart_interrupt(void) {
    while (!(REGISTER(UART_FLAGS) & UART_RECEIVE_EMPTY)) {
        const uint8_t byte = (uint8_t)REGISTER(UART_DATA);
        if (received_in - received_out >= RING) {
            uart_dropped++;
            continue;
        }
        received[received_in % RING] = byte;
        received_in++;
    }
    REGISTER(UART_INTERRUPT_CLEAR) = (1u << 4) | (1u << 6);
}

/* The next byte that arrived, or -1. */
int uart_read(void) {
    if (received_in == received_out) return -1;
    const int byte = received[received_out % RING];
    received_out++;
    return byte;
}

/* Called from the supervisor's interrupt each millisecond. */
IN_RAM void uart_drain(void) {
    while (send_in != send_out && !(REGISTER(UART_FLAGS) & UART_TRANSMIT_FULL)) {
        REGISTER(UART_DATA) = to_send[send_out % RING];
        send_out++;
    }
}

/* How many bytes can be sent without one being lost. */
uint32_t uart_room(void) { return RING - (send_in - send_out); }

/* Sends all of `bytes`, or nothing and 0 if there is no room. */
int uart_write(const uint8_t *bytes, uint32_t count) {
    if (uart_room() < count) {
        uart_dropped += count;
        return 0;
    }
    for (uint32_t at = 0; at < count; at++) to_send[(send_in + at) % RING] = bytes[at];
    send_in += count;
    return 1;
}

/* Waits until everything is in the FIFO; only for a halted controller. */
void uart_flush(void) {
    while (send_in != send_out) {}
}

static void put(char character) {
    if (send_in - send_out >= RING) {
        uart_dropped++;
        return;
    }
    to_send[send_in % RING] = (uint8_t)character;
    send_in++;
}

void print(const char *text) {
    while (*text) put(*text++);
}

/* One `key=value` of a line. */
void print_word(const char *key, const char *word) {
    print(key);
    put('=');
    print(word);
    put(' ');
}

void print_number(const char *key, int32_t value) {
    char digits[12];
    int at = sizeof digits - 1;
    uint32_t rest = value < 0 ? -(uint32_t)value : (uint32_t)value;
    digits[at] = 0;
    do {
        digits[--at] = (char)('0' + rest % 10);
        rest /= 10;
    } while (rest);
    if (value < 0) digits[--at] = '-';
    print_word(key, digits + at);
}

void print_end(void) { print("\r\n"); }
