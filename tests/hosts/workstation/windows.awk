# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# awk -f windows.awk session.ardour
# Has the workstation open a window for each of our plugins when it opens a saved
# session, side by side on a large screen.

BEGIN { width = 768; height = 520; n_across = 4 }

/<Route / {
  match($0, / id="[0-9]+"/)
  route = substr($0, RSTART + 5, RLENGTH - 6)
}

/type="lv2" unique-id="urn:dustcap:/ {
  match($0, / id="[0-9]+"/)
  window[n++] = "P-" route "-" substr($0, RSTART + 5, RLENGTH - 6)
}

/<\/Session>/ {
  print "  <Extra>\n    <UI>"
  for (i = 0; i < n; ++i) {
    printf "      <Window name=\"%s\" visible=\"1\" custom-ui=\"1\" x-off=\"%d\" y-off=\"%d\" " \
           "x-size=\"-1\" y-size=\"-1\"/>\n",
           window[i], i % n_across * width, int(i / n_across) * height
  }
  print "    </UI>\n  </Extra>"
}

{ print }
