// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Triode stages in vectors of two, four and eight lanes; private to
/// tube_gain_run.c, which chooses, and the sources of each width

#ifndef COMMON_TUBE_TUBE_GAIN_RUN_H
#define COMMON_TUBE_TUBE_GAIN_RUN_H

#include "tube_gain.h"

// Not on Windows, where gcc does not align the stack for them
#if defined(__x86_64__) && !defined(NO_WIDE_REGISTERS) && !defined(_WIN32)
#  define WIDE_REGISTERS 1
#endif

/// Two lanes: one stage of one channel after the other
void
tube_gain_run_2(tube_gain* const*     g,
                uint32_t              n_stages,
                const tube_rest_ramp* rest,
                double* const*        x,
                uint32_t              n_channels,
                uint32_t              n) NONBLOCKING;

#ifdef WIDE_REGISTERS

/// All stages of all channels at once
typedef void (*tube_gain_run)(tube_gain* const*     g,
                              const tube_rest_ramp* rest,
                              double* const*        x,
                              uint32_t              n) NONBLOCKING;

/// By channels less one, and stages less one: for AVX2 and for AVX-512
extern const tube_gain_run tube_gain_run_4[TUBE_CHANNELS_MAX][TUBE_STAGES_MAX];
extern const tube_gain_run tube_gain_run_8[TUBE_CHANNELS_MAX][TUBE_STAGES_MAX];

/// One stage of one channel: four lanes, 32 registers of AVX-512
void
tube_gain_run_4_of_32(tube_gain* const*     g,
                      const tube_rest_ramp* rest,
                      double* const*        x,
                      uint32_t              n) NONBLOCKING;

// NOLINTBEGIN(bugprone-macro-parentheses): names

/// A function for so many stages and channels, in the width of its source
#  define TUBE_AT_ONCE(name, instructions, n_stages, n_channels)         \
    __attribute__((target(instructions))) static void name(              \
      tube_gain* const* g, const tube_rest_ramp* rest, double* const* x, \
      uint32_t n) NONBLOCKING                                            \
    {                                                                    \
      run_streams(g, rest, x, n, 0, n_stages, n_channels);               \
    }

// NOLINTEND(bugprone-macro-parentheses)

#endif // WIDE_REGISTERS

#endif // COMMON_TUBE_TUBE_GAIN_RUN_H
