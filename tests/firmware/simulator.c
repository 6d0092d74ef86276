// The reference firmware's own binary on simavr's microcontroller, with models of the bridge converters; driven from Python by ctypes.
// A converter runs on its own oscillator, holds its value while it is read, and turns off when its clock line stays high for 60 µs.
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <simavr/avr_ioport.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>

enum { MOST = 14, OUT_SIZE = 1 << 22 };
#define OFF_CYCLES (60e-6 * 16e6)
#define READ_CYCLES (200e-6 * 16e6)
#define BYTE_CYCLES 320  // ten bits at 500000 baud and 16 MHz

struct simulator;

struct converter {
    struct simulator *sim;
    avr_irq_t *data, *clock;
    const int32_t *counts;
    uint32_t many, done;
    double period, next;
    int32_t value;
    int pulses, ready, dead;
    uint64_t high_since;
};

struct simulator {
    avr_t *avr;
    struct converter converters[MOST];
    int channels;
    uint8_t *out;
    uint64_t *out_at;
    uint32_t out_length;
    uint8_t *in;
    uint32_t in_length, in_at;
    uint64_t slept, longest_high;
    int turned_off;
};

static avr_cycle_count_t convert(avr_t *avr, avr_cycle_count_t when, void *param) {
    struct converter *c = param;
    if (c->dead) return 0;
    // While it is read the new value waits; a reader that was reset in the middle is forgotten.
    if (c->pulses > 0 && c->pulses < 25 && avr->cycle - c->high_since < READ_CYCLES) return when + 64;
    c->value = c->counts[c->done < c->many ? c->done : c->many - 1];
    c->done++;
    c->next += c->period;
    if (c->ready) avr_raise_irq(c->data, 1);  // nobody read the last one: the line goes up for a moment
    c->ready = 1;
    c->pulses = 0;
    avr_raise_irq(c->data, 0);
    avr_cycle_count_t at = (avr_cycle_count_t)c->next;
    return at > when ? at : when + 1;
}

static void clocked(struct avr_irq_t *irq, uint32_t value, void *param) {
    struct converter *c = param;
    (void)irq;
    uint64_t now = c->sim->avr->cycle;
    if (!value) {
        uint64_t high = now - c->high_since;
        if (c->high_since && high > c->sim->longest_high) c->sim->longest_high = high;
        if (c->high_since && high > OFF_CYCLES) c->sim->turned_off++;
        return;
    }
    c->high_since = now;
    if (!c->ready) return;
    c->pulses++;
    if (c->pulses <= 24)
        avr_raise_irq(c->data, c->value >> (24 - c->pulses) & 1);
    else {
        avr_raise_irq(c->data, 1);
        c->ready = 0;
    }
}

static void sent(struct avr_irq_t *irq, uint32_t value, void *param) {
    struct simulator *sim = param;
    (void)irq;
    if (sim->out_length < OUT_SIZE) {
        sim->out_at[sim->out_length] = sim->avr->cycle;
        sim->out[sim->out_length++] = value;
    }
}

static avr_cycle_count_t receive(avr_t *avr, avr_cycle_count_t when, void *param) {
    struct simulator *sim = param;
    if (sim->in_at >= sim->in_length) return 0;
    avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT), sim->in[sim->in_at++]);
    return when + BYTE_CYCLES;
}

static uint64_t *slept_into;  // simavr hands its callback no place of ours; one simulator at a time

static void sleep_counted(avr_t *avr, avr_cycle_count_t cycles) {
    (void)avr;
    if (slept_into) *slept_into += cycles;
}

static void quiet(avr_t *avr, const int level, const char *format, va_list ap) {
    (void)avr, (void)level, (void)format, (void)ap;
}

struct simulator *sim_new(const char *elf, const char *chip, int channels) {
    elf_firmware_t firmware;
    memset(&firmware, 0, sizeof firmware);
    avr_global_logger_set(quiet);
    if (elf_read_firmware(elf, &firmware)) return NULL;
    struct simulator *sim = calloc(1, sizeof *sim);
    sim->out = malloc(OUT_SIZE);
    sim->out_at = malloc(OUT_SIZE * sizeof *sim->out_at);
    sim->channels = channels;
    avr_t *avr = sim->avr = avr_make_mcu_by_name(chip);
    if (!avr) return NULL;
    avr_init(avr);
    avr_load_firmware(avr, &firmware);
    avr->frequency = 16000000;
    avr->sleep = sleep_counted;
    slept_into = &sim->slept;
    uint32_t flags = 0;
    avr_ioctl(avr, AVR_IOCTL_UART_GET_FLAGS('0'), &flags);
    flags &= ~(AVR_UART_FLAG_STDIO | AVR_UART_FLAG_POLL_SLEEP);
    avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), sent, sim);
    return sim;
}

// counts: one a conversion, the last one again and again; the caller keeps them alive.
void sim_converter(struct simulator *sim, int number, char data_port, int data_pin, char clock_port, int clock_pin, double period, double phase,
                   const int32_t *counts, uint32_t many) {
    struct converter *c = &sim->converters[number];
    c->sim = sim;
    c->counts = counts;
    c->many = many;
    c->period = period;
    c->next = sim->avr->cycle + phase;
    c->data = avr_io_getirq(sim->avr, AVR_IOCTL_IOPORT_GETIRQ(data_port), data_pin);
    c->clock = avr_io_getirq(sim->avr, AVR_IOCTL_IOPORT_GETIRQ(clock_port), clock_pin);
    avr_irq_register_notify(c->clock, clocked, c);
    avr_raise_irq(c->data, 1);
    avr_cycle_timer_register(sim->avr, (avr_cycle_count_t)phase + 1, convert, c);
}

void sim_die(struct simulator *sim, int number, int dead) {
    struct converter *c = &sim->converters[number];
    c->dead = dead;
    if (!dead) {
        c->next = sim->avr->cycle + c->period;
        avr_cycle_timer_register(sim->avr, (avr_cycle_count_t)c->period, convert, c);
    }
}

// Runs until so many cycles from power-up; the state that simavr stops in, or 0.
int sim_run(struct simulator *sim, uint64_t until) {
    while (sim->avr->cycle < until) {
        int state = avr_run(sim->avr);
        if (state == cpu_Done || state == cpu_Crashed) return state;
    }
    return 0;
}

void sim_reset(struct simulator *sim) {
    avr_reset(sim->avr);
    sim->in_at = sim->in_length;
    for (int i = 0; i < sim->channels; i++) {  // a reset takes pending timers and input levels with it
        struct converter *c = &sim->converters[i];
        avr_raise_irq(c->clock, 0);
        avr_raise_irq(c->data, !c->ready);
        c->next = sim->avr->cycle + c->period;
        if (!c->dead) avr_cycle_timer_register(sim->avr, (avr_cycle_count_t)c->period, convert, c);
    }
}

void sim_send(struct simulator *sim, const uint8_t *bytes, uint32_t count) {
    sim->in = realloc(sim->in, sim->in_length + count);
    memcpy(sim->in + sim->in_length, bytes, count);
    int idle = sim->in_at >= sim->in_length;
    sim->in_length += count;
    if (idle) avr_cycle_timer_register(sim->avr, BYTE_CYCLES, receive, sim);
}

// The processor hangs where it is: a jump to itself. Undone by sim_unhang.
static uint8_t hung[2];
static avr_flashaddr_t hung_at;
void sim_hang(struct simulator *sim) {
    hung_at = sim->avr->pc;
    memcpy(hung, sim->avr->flash + hung_at, 2);
    sim->avr->flash[hung_at] = 0xFF;
    sim->avr->flash[hung_at + 1] = 0xCF;
}
void sim_unhang(struct simulator *sim) { memcpy(sim->avr->flash + hung_at, hung, 2); }

uint64_t sim_cycle(struct simulator *sim) { return sim->avr->cycle; }
uint64_t sim_slept(struct simulator *sim) { return sim->slept; }
uint64_t sim_longest_high(struct simulator *sim) { return sim->longest_high; }
int sim_turned_off(struct simulator *sim) { return sim->turned_off; }
uint32_t sim_conversions(struct simulator *sim, int number) { return sim->converters[number].done; }
uint32_t sim_out(struct simulator *sim, uint8_t *to, uint64_t *at, uint32_t from) {
    uint32_t count = sim->out_length - from;
    memcpy(to, sim->out + from, count);
    if (at) memcpy(at, sim->out_at + from, count * sizeof *at);
    return count;
}
uint32_t sim_out_length(struct simulator *sim) { return sim->out_length; }
void sim_free(struct simulator *sim) {
    slept_into = NULL;
    avr_terminate(sim->avr);
    free(sim->out);
    free(sim->out_at);
    free(sim->in);
    free(sim);
}
