/* The METAR reader.
 *
 * Source  Forms of the groups: WMO-No. 306, FM 15, and FMH-1 chapter 12 (from memory).  The reports are
 *         made up for the test; 1 inHg = 3386.389 Pa (NIST SP 811, Appendix B). */
#include "files/metar.h"

#include "test.h"

static void reports_are_read(void **state) {
  (void)state;
  static const struct {
    const char *report;
    int day, hour, minute;
    double temperature_c, dew_point_c, qnh_pa;
  } rows[] = {
      {"METAR XXAA 231950Z 24008KT 9999 FEW040 17/M02 Q1013 NOSIG=", 23, 19, 50, 17.0, -2.0,
       101300.0},
      {"XXAA 010003Z AUTO 00000KT 10SM CLR M08/M13 A3042 RMK AO2 SLP312 T10781128", 1, 0, 3, -7.8,
       -12.8, 3042 * 33.86389},
      {"SPECI XXAA 312359Z 02015G25KT 1/2SM R26/1200FT FZFG M00/M01 A2992", 31, 23, 59, -0.0, -1.0,
       2992 * 33.86389},
      {"METAR COR XXAA 121200Z VRB02KT CAVOK 22/05 Q0998", 12, 12, 0, 22.0, 5.0, 99800.0},
      {"XXAA 121200Z CAVOK 22/05 Q0998 TEMPO 30/20 Q0900", 12, 12, 0, 22.0, 5.0, 99800.0},
      {"XXAA 121200Z CAVOK 22/05 A2950 RMK T02240046 T02210050", 12, 12, 0, 22.4, 4.6,
       2950 * 33.86389},
      {"XXAA 121200Z CAVOK 22/05 A2992 Q1013", 12, 12, 0, 22.0, 5.0, 2992 * 33.86389},
      {"XXAA 121200Z CAVOK 22/05 Q1013 A2992", 12, 12, 0, 22.0, 5.0, 2992 * 33.86389},
      /* what a report holds besides; none of it is a temperature, a pressure or a time */
      {"METAR XXAA 121150Z AUTO 24015G27KT 210V270 1500 1000SW R24/0900V1400U R26/CLRD70 -SHSN "
       "BKN008 "
       "OVC015 M03/M05 Q0987 RESN WS R26 W12/S4 R24/490042 TEMPO 0500 FM1230 Q1000",
       12, 11, 50, -3.0, -5.0, 98700.0},
      {"XXAA 121200Z 1 1/2SM BR VV002 08/07 A3001 RMK AO2 PK WND 24031/1135 SLP165 60010 10089 "
       "20061 "
       "T00830072 53012",
       12, 12, 0, 8.3, 7.2, 3001 * 33.86389},
      {"XXAA 121200Z 08/07 A3001 RMK T00830999", 12, 12, 0, 8.0, 7.0, 3001 * 33.86389},
      {"XXAA 121200Z 08/07 A3001 RMK T10830072", 12, 12, 0, 8.0, 7.0, 3001 * 33.86389},
      {"XXAA 121200Z 08/07 A3001 RMK T20830072", 12, 12, 0, 8.0, 7.0, 3001 * 33.86389},
      {"XXAA 121200Z 08/07 A3001 T00830072", 12, 12, 0, 8.0, 7.0, 3001 * 33.86389},
      {"\tXXAA\r\n121200Z\t22/05\nQ0998=\n", 12, 12, 0, 22.0, 5.0, 99800.0},
      {"XXAA 121200Z 60/60 Q0900", 12, 12, 0, 60.0, 60.0, 90000.0},
      {"XXAA 121200Z M90/M90 Q1090", 12, 12, 0, -90.0, -90.0, 109000.0},
      {"XXAA 121200Z CAVOK 22/05 A2950 RMK T0600", 12, 12, 0, 22.0, 5.0, 2950 * 33.86389},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    ta_metar m = {.day = -1};
    assert_int_equal(ta_metar_read(rows[i].report, &m, NULL, 0), TA_OK);
    bad += off(rows[i].report, "day", m.day, rows[i].day, 0.0);
    bad += off(rows[i].report, "hour", m.hour, rows[i].hour, 0.0);
    bad += off(rows[i].report, "minute", m.minute, rows[i].minute, 0.0);
    bad += off(rows[i].report, "T", m.temperature_k - 273.15, rows[i].temperature_c, 1e-9);
    bad += off(rows[i].report, "Td", m.dew_point_k - 273.15, rows[i].dew_point_c, 1e-9);
    bad += off(rows[i].report, "QNH", m.qnh_pa, rows[i].qnh_pa, 1e-6);
    assert_true(m.has_dew_point);
  }
  assert_int_equal(bad, 0);
}

static void a_missing_dew_point_is_told_from_zero(void **state) {
  (void)state;
  ta_metar m;
  assert_int_equal(ta_metar_read("XXAA 121200Z 22/ Q0998", &m, NULL, 0), TA_OK);
  assert_false(m.has_dew_point);
  assert_int_equal(ta_metar_read("XXAA 121200Z 22/// Q0998", &m, NULL, 0), TA_OK);
  assert_false(m.has_dew_point);
}

static void refusals_leave_the_output_alone(void **state) {
  (void)state;
  static const struct {
    const char *report, *words;
  } rows[] = {
      {"", "no time"},
      {"sunny, warm", "no time"},
      {"XXAA 121200Z 121230Z 22/05 Q0998", "two times"},
      {"XXAA 321200Z 22/05 Q0998", "the time of the report is none"},
      {"XXAA 002400Z 22/05 Q0998", "the time of the report is none"},
      {"XXAA 122400Z 22/05 Q0998", "the time of the report is none"},
      {"XXAA 121260Z 22/05 Q0998", "the time of the report is none"},
      {"XXAA 121200Z Q0998", "no temperatures"},
      {"XXAA 121200Z ///// Q0998", "no temperatures"},
      {"XXAA 121200Z 2/05 Q0998", "no temperatures"},
      {"XXAA 121200Z 22/5 Q0998", "no temperatures"},
      {"XXAA 121200Z 22/05X Q0998", "no temperatures"},
      {"XXAA 121200Z 22/05 23/06 Q0998", "two temperature groups"},
      {"XXAA 121200Z 22/05", "no pressure"},
      {"XXAA 121200Z 22/05 Q////", "no pressure"},
      {"XXAA 121200Z 22/05 Q998", "no pressure"},
      {"XXAA 121200Z 22/05 RMK A2992", "no pressure"},
      {"XXAA 121200Z 22/05 Q0998 A2992", "two pressures"},
      {"XXAA 121200Z 61/05 Q0998", "-90 to 60 degC"},
      {"XXAA 121200Z M91/M95 Q0998", "-90 to 60 degC"},
      {"XXAA 121200Z 05/22 Q0998", "above its temperature"},
      {"XXAA 121200Z 22/05 Q0899", "no altimeter setting"},
      {"XXAA 121200Z 22/05 A3219", "no altimeter setting"}, /* 1090.1 hPa */
      {"XXAA 121200Z 22/05 Q0000", "no altimeter setting"},
      {"XXAA 12120OZ 22/05 Q0998", "no time"},
      {"metar xxaa 121200z 22/05 q0998", "no time"},
      {"METAR XXAA 121200Z NIL=", "no temperatures"},
      {"TAF XXAA 121100Z 1212/1318 24010KT CAVOK TX22/1214Z TN05/1304Z", "no temperatures"},
      {"XXAA 121200Z M/05 Q0998", "no temperatures"},
      {"XXAA 121200Z 22/MM Q0998", "no temperatures"},
  };
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    ta_metar m = {.day = -7};
    char why[100] = "";
    assert_int_equal(ta_metar_read(rows[i].report, &m, why, sizeof why), TA_ERR_ARGUMENT);
    if (strstr(why, rows[i].words) == NULL) fail_msg("\"%s\": %s", rows[i].report, why);
    assert_int_equal(m.day, -7);
  }
  assert_int_equal(ta_metar_read(NULL, NULL, NULL, 0), TA_ERR_ARGUMENT);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(reports_are_read),
      cmocka_unit_test(a_missing_dew_point_is_told_from_zero),
      cmocka_unit_test(refusals_leave_the_output_alone),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
