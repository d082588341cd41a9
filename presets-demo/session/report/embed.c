// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Runs while building: turns a text file into a C array, so that a program
/// contains its template.  Leaves out comments of CSS, HTML and scripts, which
/// are between slash and star there, with the line break after them.
///
///   embed NAME FILE > NAME.c

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MAX_BYTES = 65536 };

/// Returns the length of the comment that `text` starts with, or 0
static size_t
comment_length(const char* text)
{
  static const char* const marks[][2] = {{"/*", "*/"}, {"<!--", "-->"}};
  for (size_t i = 0; i < sizeof(marks) / sizeof(marks[0]); ++i) {
    const char* const end = !strncmp(text, marks[i][0], strlen(marks[i][0]))
                              ? strstr(text, marks[i][1])
                              : NULL;
    if (end) {
      const char* const rest = end + strlen(marks[i][1]);
      return (size_t)(rest - text) + (*rest == '\n');
    }
  }
  return 0;
}

static void
print_array(const char* name, const char* text)
{
  (void)printf("extern const char %s[];\nconst char %s[] = {\n", name, name);
  while (*text) {
    const size_t length = comment_length(text);
    if (!length) {
      (void)printf("'\\%03o',%s", (unsigned)(unsigned char)*text,
                   *text == '\n' ? "\n" : "");
    }
    text += length ? length : 1;
  }
  (void)printf("'\\0'};\n");
}

int
main(int argc, char** argv)
{
  static char text[MAX_BYTES];
  FILE* const file = argc == 3 ? fopen(argv[2], "rb") : NULL;
  if (!file) {
    (void)fprintf(stderr, "usage: embed NAME FILE\n");
    return EXIT_FAILURE;
  }
  const size_t length = fread(text, 1, sizeof(text), file);
  const int    error  = ferror(file);
  (void)fclose(file);
  if (error || length == sizeof(text) || strlen(text) != length) {
    (void)fprintf(stderr, "embed: %s: expected a text of less than %d bytes\n",
                  argv[2], MAX_BYTES);
    return EXIT_FAILURE;
  }
  print_array(argv[1], text);
  return fflush(stdout) || ferror(stdout) ? EXIT_FAILURE : EXIT_SUCCESS;
}
