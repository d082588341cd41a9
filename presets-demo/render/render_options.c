// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "render_options.h"

#include "common/core/dsp.h"

#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DEFAULT_TAIL_S 1.0
#define MAX_TAIL_S     60.0

static const char usage[] =
  "Usage: dustcap-render [OPTION]... IN --setup FILE -o OUT\n"
  "Play a dry recording through the stages of a setup.\n"
  "\n"
  "IN is a mono or stereo WAV, FLAC or AIFF file.  OUT becomes a .wav, .flac "
  "or\n"
  ".aiff file that lines up with IN to the sample: the latency of the stages "
  "is\n"
  "taken out.  Nothing is left of OUT if anything fails.\n"
  "\n"
  "  --setup FILE    the stages and their settings\n"
  "  -o, --output OUT\n"
  "  --bits N        samples of OUT: 16 (dithered), 24 or float; default 24\n"
  "  --rate HZ       convert to this sample rate; default: that of IN\n"
  "  --tail SECONDS  how much longer OUT is than IN, 0 to 60; default 1\n"
  "  --bundle DIR    the folder of the plugins; default: the one built with\n"
  "                  this program, or else the one on the LV2 path\n"
  "  --compare       write OUT-dry as well: IN as loud as OUT, in step with "
  "it,\n"
  "                  both turned down if one would come above -1 dBTP\n"
  "  --quiet         print warnings and errors only\n"
  "  --help, --version\n"
  "\n"
  "Exit status: 0 when OUT is there, 1 when it could not be made, 2 when the\n"
  "command line is wrong.\n";

enum {
  OPT_SETUP = 256,
  OPT_BITS,
  OPT_RATE,
  OPT_TAIL,
  OPT_BUNDLE,
  OPT_COMPARE,
  OPT_QUIET,
  OPT_HELP,
  OPT_VERSION
};

static const struct option long_options[] = {
  {"setup", required_argument, NULL, OPT_SETUP},
  {"output", required_argument, NULL, 'o'},
  {"bits", required_argument, NULL, OPT_BITS},
  {"rate", required_argument, NULL, OPT_RATE},
  {"tail", required_argument, NULL, OPT_TAIL},
  {"bundle", required_argument, NULL, OPT_BUNDLE},
  {"compare", no_argument, NULL, OPT_COMPARE},
  {"quiet", no_argument, NULL, OPT_QUIET},
  {"help", no_argument, NULL, OPT_HELP},
  {"version", no_argument, NULL, OPT_VERSION},
  {NULL, 0, NULL, 0},
};

static bool
parse_number(const char* option,
             const char* text,
             double      min,
             double      max,
             double*     number,
             failure*    f)
{
  char* end = NULL;
  *number   = strtod(text, &end);
  return (end != text && !*end && *number >= min && *number <= max) ||
         fail_with(f, "%s %s: expected a number from %g to %g", option, text,
                   min, max);
}

static bool
parse_rate(const char* text, double* rate_hz, failure* f)
{
  return parse_number("--rate", text, DSP_MIN_RATE_HZ, DSP_MAX_RATE_HZ, rate_hz,
                      f) &&
         (*rate_hz == floor(*rate_hz) ||
          fail_with(f, "--rate %s: expected a whole number", text));
}

static bool
parse_bits(const char* text, sample_format* samples, failure* f)
{
  static const char* const words[] = {"16", "24", "float"};
  for (int i = 0; i < 3; ++i) {
    if (!strcmp(text, words[i])) {
      *samples = (sample_format)i;
      return true;
    }
  }
  return fail_with(f, "--bits %s: expected 16, 24 or float", text);
}

static bool
take_option(render_options* o, int option, failure* f)
{
  switch (option) {
    case OPT_SETUP:
      o->setup = optarg;
      return true;
    case 'o':
      o->out = optarg;
      return true;
    case OPT_BITS:
      return parse_bits(optarg, &o->samples, f);
    case OPT_RATE:
      return parse_rate(optarg, &o->rate_hz, f);
    case OPT_TAIL:
      return parse_number("--tail", optarg, 0.0, MAX_TAIL_S, &o->tail_s, f);
    case OPT_BUNDLE:
      o->bundle = optarg;
      return true;
    case OPT_COMPARE:
      o->compare = true;
      return true;
    default:
      o->is_quiet = true;
      return true;
  }
}

static bool
check_complete(const render_options* o, failure* f)
{
  return (o->in || fail_with(f, "no input file; expected IN")) &&
         (o->setup || fail_with(f, "no setup; expected --setup FILE")) &&
         (o->out || fail_with(f, "no output file; expected -o OUT"));
}

static bool
fail_option(char* const* argv, int option, failure* f)
{
  const char* const word = argv[optind - 1];
  return option == ':' ? fail_with(f, "%s: expected a word behind it", word)
                       : fail_with(f, "unknown option %s; try --help", word);
}

render_parse
render_options_parse(render_options* o, int argc, char** argv, failure* f)
{
  *o     = (render_options){.tail_s = DEFAULT_TAIL_S, .samples = SAMPLES_24};
  opterr = 0;
  for (;;) {
    const int option = getopt_long(argc, argv, ":o:", long_options, NULL);
    if (option == -1) {
      break;
    }
    if (option == OPT_HELP || option == OPT_VERSION) {
      (void)fputs(option == OPT_HELP ? usage : "dustcap-render " VERSION "\n",
                  stdout);
      return RENDER_DONE;
    }
    if (option == '?' || option == ':') {
      (void)fail_option(argv, option, f);
      return RENDER_WRONG;
    }
    if (!take_option(o, option, f)) {
      return RENDER_WRONG;
    }
  }
  if (argc - optind > 1) {
    (void)fail_with(f, "a second input file %s; expected one",
                    argv[optind + 1]);
    return RENDER_WRONG;
  }
  o->in = optind < argc ? argv[optind] : NULL;
  return check_complete(o, f) ? RENDER_GO : RENDER_WRONG;
}
