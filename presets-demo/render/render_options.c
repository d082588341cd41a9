// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "render_options.h"

#include "common/core/dsp.h"
#include "presets-demo/render/host/catalogue.h"

#define DEFAULT_TAIL_S 1.0
#define MAX_TAIL_S     60.0

static const char* const forms[] = {"[OPTION]... IN --setup FILE -o OUT", NULL};
static const char* const details[] = {
  "IN is a mono or stereo WAV, FLAC or AIFF file. OUT becomes a .wav, .flac or "
  ".aiff file that lines up with IN to the sample: the latency of the stages "
  "is "
  "taken out. If anything fails, no part of OUT is left.",
  NULL};

/// In the order of sample_format
static const char* const sample_words[] =
  {[SAMPLES_16] = "16", [SAMPLES_24] = "24", [SAMPLES_FLOAT] = "float", NULL};

static const option_row rows[] = {
  {.name     = "setup",
   .argument = "FILE",
   .help     = "the stages and their settings",
   .needed   = "setup",
   .kind     = OPTION_TEXT,
   .offset   = offsetof(render_options, setup)},
  {.name     = "output",
   .letter   = 'o',
   .argument = "OUT",
   .help     = "the file to write",
   .needed   = "output file",
   .kind     = OPTION_TEXT,
   .offset   = offsetof(render_options, out)},
  {.name     = "bits",
   .argument = "N",
   .help     = "sample format of OUT: 16 (dithered), 24 or float; default 24",
   .kind     = OPTION_CHOICE,
   .choices  = sample_words,
   .offset   = offsetof(render_options, samples)},
  {.name     = "rate",
   .argument = "HZ",
   .help     = "convert to this sample rate; default: that of IN",
   .kind     = OPTION_WHOLE,
   .min      = DSP_MIN_RATE_HZ,
   .max      = DSP_MAX_RATE_HZ,
   .offset   = offsetof(render_options, rate_hz)},
  {.name     = "tail",
   .argument = "SECONDS",
   .help     = "time to add after the end of IN, 0 to 60; default 1",
   .kind     = OPTION_NUMBER,
   .max      = MAX_TAIL_S,
   .offset   = offsetof(render_options, tail_s)},
  {.name     = "bundle",
   .argument = "DIR",
   .help     = CATALOGUE_FOLDER_HELP,
   .kind     = OPTION_TEXT,
   .offset   = offsetof(render_options, bundle)},
  {.name   = "compare",
   .help   = "also write OUT-dry: IN at the loudness of OUT, in step with it; "
             "both are turned down if either exceeds -1 dBTP",
   .kind   = OPTION_FLAG,
   .offset = offsetof(render_options, compare)},
  {.name   = "report",
   .help   = "also write OUT-report.html: a page that plays IN dry and after "
             "each stage, equally loud and in step, with levels and spectra",
   .kind   = OPTION_FLAG,
   .offset = offsetof(render_options, report)},
  {.name   = "quiet",
   .help   = "print warnings and errors only",
   .kind   = OPTION_FLAG,
   .offset = offsetof(render_options, is_quiet)},
};

const options_program render_program = {
  .name    = PROGRAM,
  .version = VERSION,
  .forms   = forms,
  .summary = "Play a dry recording through the stages of a setup.",
  .details = details,
  .status = "Exit status: 0 if OUT was written, even if the table could not be "
            "printed, 1 after an error, 2 if the command line is wrong.",
  .rows   = rows,
  .n_rows = sizeof(rows) / sizeof(rows[0]),
};

options_result
render_options_parse(render_options* o, int argc, char** argv, failure* f)
{
  options_words words;
  *o = (render_options){.tail_s = DEFAULT_TAIL_S, .samples = SAMPLES_24};
  const options_result result =
    options_parse(&render_program, o, argc, argv, &words, f);
  return result != OPTIONS_GO ||
             (options_take_word(&words, "IN", "input file", &o->in, f) &&
              options_check_needed(&render_program, o, f))
           ? result
           : OPTIONS_WRONG;
}
