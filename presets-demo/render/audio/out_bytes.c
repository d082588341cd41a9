// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "out_bytes.h"

#include <errno.h>
#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

static sf_count_t
get_length(void* user)
{
  const out_bytes* const b = user;
  struct stat            status;
  return fstat(b->descriptor, &status) ? -1 : (sf_count_t)status.st_size;
}

static sf_count_t
seek(sf_count_t offset, int whence, void* user)
{
  const out_bytes* const b = user;
  return (sf_count_t)lseek(b->descriptor, (off_t)offset, whence);
}

static sf_count_t
tell(void* user)
{
  return seek(0, SEEK_CUR, user);
}

static sf_count_t
read_some(void* to, sf_count_t n, void* user)
{
  const out_bytes* const b = user;
  return (sf_count_t)read(b->descriptor, to, (size_t)n);
}

/// Writes all of it, or notes the error
static sf_count_t
write_all(const void* from, sf_count_t n, void* user)
{
  out_bytes* const b    = user;
  sf_count_t       done = 0;
  while (done < n) {
    const ssize_t now =
      write(b->descriptor, (const char*)from + done, (size_t)(n - done));
    if (now > 0) {
      done += now;
    } else if (now == 0 || errno != EINTR) {
      b->error = b->error ? b->error : now ? errno : EIO;
      break;
    }
  }
  return done;
}

SNDFILE*
out_bytes_open(out_bytes* b, SF_INFO* format)
{
  static SF_VIRTUAL_IO io = {
    .get_filelen = get_length,
    .seek        = seek,
    .read        = read_some,
    .write       = write_all,
    .tell        = tell,
  };
  return sf_open_virtual(&io, SFM_WRITE, format, b);
}
