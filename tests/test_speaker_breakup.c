// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// The whole loudspeaker

#include "promises.h"

#include "common/stages/speaker_breakup.h"

static void
test_promises(void** state)
{
  (void)state;
  promise_rig r = promise_rig_new(&speaker_breakup_ops, 48000.0, 1);
  promise_any_split(&r);
  promise_mono_is_stereo(&r);
  *promise_value(&r, "back") = 1.0F;
  *promise_value(&r, "quality") = 2.0F;
  stage_set(&r.st, r.values);
  promise_any_split(&r);
  promise_mono_is_stereo(&r);
  promise_rig_free(&r);
}

static void
test_finite(void** state)
{
  (void)state;
  promise_finite(&speaker_breakup_ops);
}

static void
test_no_click(void** state)
{
  (void)state;
  promise_rig r = promise_rig_new(&speaker_breakup_ops, 48000.0, 1);
  for (uint32_t i = 0; i < r.st.ops->n_params; ++i) {
    const param_info* p     = &r.st.ops->params[i];
    for (int k=0;k<2;++k){ float values[32]; memcpy(values,r.values,sizeof values); values[i]= k?p->max:p->min; float home=r.values[i];
      double a=promise_click_db(&r,values,1000+37*i); r.values[i]=values[i]; values[i]=home; double b=promise_click_db(&r,values,1000+37*i); r.values[i]=home;
      print_message("%s %g: %.1f %.1f\n",p->symbol,(double)(k?p->max:p->min),a,b);}
  }
  promise_rig_free(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_promises),
    cmocka_unit_test(test_finite),
    cmocka_unit_test(test_no_click),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
