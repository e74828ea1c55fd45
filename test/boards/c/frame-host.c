/*
 * The C half of the link's codec on the host: reads lines of hexadecimal digits and writes what
 * frame.c and sha256.c make of them. `e` COBS encode, `d` decode, `c` both CRCs, `f` frame of type,
 * sequence and payload, `r` receive a stream, `s` SHA-256. `fuzz SEED COUNT` damages frames and counts.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include "frame.h"
#include "sha256.h"

static uint8_t bytes[70000];

static uint32_t read_hex(const char *text) {
    uint32_t count = 0;
    unsigned value;
    while (sscanf(text, "%2x", &value) == 1 && text[0] > ' ') bytes[count++] = (uint8_t)value, text += 2;
    return count;
}

static void show(const uint8_t *from, uint32_t count) {
    for (uint32_t at = 0; at < count; at++) printf("%02x", from[at]);
    printf("\n");
}

static void receive(uint32_t count) {
    struct receiver receiver = {0};
    struct frame frame;
    for (uint32_t at = 0; at < count; at++) {
        if (!frame_receive(&receiver, bytes[at], &frame)) continue;
        printf("%u:%u:%u:", frame.version, frame.type, frame.sequence);
        for (int index = 0; index < frame.length; index++) printf("%02x", frame.payload[index]);
        printf(" ");
    }
    printf("\n");
}

static void obey(const char *line) {
    const uint32_t count = read_hex(line + 2);
    uint8_t out[71000];
    if (line[0] == 'e') show(out, cobs_encode(bytes, count, out));
    if (line[0] == 'd') {
        const int32_t made = cobs_decode(bytes, count, out);
        if (made < 0) printf("bad\n");
        else show(out, (uint32_t)made);
    }
    if (line[0] == 'c') printf("%04x %04x\n", crc16_ibm3740(bytes, count), crc16_arc(bytes, count));
    if (line[0] == 'f') show(out, frame_encode(bytes[0], bytes[1], bytes + 2, count - 2, out));
    if (line[0] == 'r') receive(count);
    if (line[0] == 's') {
        struct sha256 sha;
        sha256_start(&sha);
        sha256_add(&sha, bytes, count);
        sha256_end(&sha, out);
        show(out, 32);
    }
}

/* xorshift32 (Marsaglia 2003). */
static uint32_t state;
static uint32_t next(void) {
    state ^= state << 13, state ^= state >> 17, state ^= state << 5;
    return state;
}
static uint32_t below(uint32_t count) { return next() % count; }

struct sent {
    uint8_t type, sequence, payload[FRAME_PAYLOAD_MAX];
    uint32_t length;
};

static uint32_t make(uint8_t *line, struct sent *sent) {
    sent->type = (uint8_t)below(14);
    sent->sequence = (uint8_t)next();
    sent->length = below(8) ? below(40) : below(FRAME_PAYLOAD_MAX + 1);
    for (uint32_t at = 0; at < sent->length; at++) sent->payload[at] = below(3) ? (uint8_t)next() : 0;
    return frame_encode(sent->type, sent->sequence, sent->payload, sent->length, line);
}

static int is(const struct frame *frame, const struct sent *sent) {
    return frame->version == FRAME_VERSION && frame->type == sent->type &&
           frame->sequence == sent->sequence && frame->length == sent->length &&
           memcmp(frame->payload, sent->payload, sent->length) == 0;
}

/* One kind of damage: flip, drop, repeat, insert, cut, splice with the other line, random bytes. */
static uint32_t damage(uint8_t *line, uint32_t count, uint32_t kind, const uint8_t *other, uint32_t rest) {
    uint32_t at = 1 + below(count - 2), times = 1 + below(8);
    if (kind == 0) {
        while (times--) line[1 + below(count - 2)] ^= (uint8_t)(1u << below(8));
    } else if (kind == 1) {
        memmove(line + at, line + at + 1, --count - at);
    } else if (kind == 2 || kind == 3) {
        memmove(line + at + 1, line + at, count++ - at);
        if (kind == 3) line[at] = (uint8_t)next();
    } else if (kind == 4) {
        count = at;
    } else if (kind == 5) {
        const uint32_t from = below(rest);
        memcpy(line + at, other + from, rest - from);
        count = at + rest - from;
    } else {
        for (count = 1 + below(300), at = 0; at < count; at++) line[at] = (uint8_t)next();
    }
    return count;
}

/*
 * Damaged frames, each followed by a good one: prints how many there were, how many frames were taken
 * that nobody sent, how many good ones were not understood, and how many came through undamaged.
 */
static void fuzz(uint32_t count) {
    static uint8_t line[1024], other[FRAME_LINE_MAX], good[FRAME_LINE_MAX];
    static struct sent sent, spliced, next_sent;
    struct receiver receiver = {0};
    struct frame frame;
    uint32_t wrong = 0, lost = 0, whole = 0;
    for (uint32_t round = 0; round < count; round++) {
        const uint32_t size = make(line, &sent), rest = make(other, &spliced);
        const uint32_t damaged = damage(line, size, round % 7, other, rest);
        const uint32_t good_size = make(good, &next_sent);
        uint32_t heard = 0;
        for (uint32_t at = 0; at < damaged + good_size; at++) {
            const uint8_t byte = at < damaged ? line[at] : good[at - damaged];
            if (!frame_receive(&receiver, byte, &frame)) continue;
            if (at + 1 == damaged + good_size) heard = is(&frame, &next_sent);
            else if (is(&frame, &sent) || is(&frame, &spliced)) whole++;
            else wrong++;
        }
        lost += !heard;
    }
    printf("%u %u %u %u\n", count, wrong, lost, whole);
}

int main(int argc, char **argv) {
    static char line[150000];
    if (argc == 4 && strcmp(argv[1], "fuzz") == 0) {
        state = (uint32_t)strtoul(argv[2], 0, 10) | 1;
        fuzz((uint32_t)strtoul(argv[3], 0, 10));
        return 0;
    }
    while (fgets(line, sizeof line, stdin)) obey(line);
    return 0;
}
