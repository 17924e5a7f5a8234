/* SPDX-License-Identifier: Apache-2.0 */
/* test_rules - what no field shows alone: missing parts, empty ones, and parts that do not agree */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "tests/codec/rows.h"

#define READY(verdict) HEAD "6:{" EVENT "} 19:{1:1 2:23235 " verdict "}"

static void
rules_of_the_envelope(void **state)
{
    static const struct row rows[] = {
        {"no schema", TL_BODY_BEAT, "2:'engine-1' 3:1 4:5 5:7 16:{}", TL_REFUSAL_MISSING},
        {"no node", TL_BODY_BEAT, "1:1 3:1 4:5 5:7 16:{}", TL_REFUSAL_MISSING},
        {"no key epoch", TL_BODY_BEAT, "1:1 2:'engine-1' 4:5 5:7 16:{}", TL_REFUSAL_MISSING},
        {"no incarnation", TL_BODY_BEAT, "1:1 2:'engine-1' 3:1 5:7 16:{}", TL_REFUSAL_MISSING},
        {"no sequence", TL_BODY_BEAT, "1:1 2:'engine-1' 3:1 4:5 16:{}", TL_REFUSAL_MISSING},
        {"no body", TL_BODY_BEAT, HEAD, TL_REFUSAL_MISSING},
        {"event without recovery", TL_BODY_BEAT, HEAD "6:{2:7} 16:{}", TL_REFUSAL_MISSING},
        {"event without pass", TL_BODY_BEAT, HEAD "6:{1:7} 16:{}", TL_REFUSAL_MISSING},
        {"event that is empty", TL_BODY_BEAT, HEAD "6:{} 16:{}", TL_REFUSAL_EMPTY},
        {"echo that is empty", TL_BODY_BEAT, HEAD "7:{} 16:{}", TL_REFUSAL_EMPTY},
        {"echo without validator", TL_BODY_BEAT, HEAD "7:{2:1 3:1} 16:{}", TL_REFUSAL_MISSING},
        {"echo without incarnation", TL_BODY_BEAT, HEAD "7:{1:'v' 3:1} 16:{}", TL_REFUSAL_MISSING},
        {"echo without tick", TL_BODY_BEAT, HEAD "7:{1:'v' 2:1} 16:{}", TL_REFUSAL_MISSING},
        {"echoes of two", TL_BODY_BEAT, HEAD "7:{1:'v' 2:1 3:1} 7:{1:'w' 2:1 3:1} 16:{}", OK},
        {"two echoes of one", TL_BODY_BEAT, HEAD "7:{1:'v' 2:1 3:1} 7:{1:'v' 2:1 3:2} 16:{}",
         TL_REFUSAL_TOO_MANY},
        {"echo on a receipt", TL_BODY_RECEIPT, HEAD "7:{1:'v' 2:1 3:1} 18:{1:5}", TL_REFUSAL_RANGE},
        {"settled on a verdict", TL_BODY_VERDICT,
         HEAD "9:1 19:{2:42300 3:1 5:{" CAUSE "} 6:1 " DIGESTS "}", TL_REFUSAL_RANGE},
        {"settled at the last change", TL_BODY_BEAT, HEAD "9:100 16:{1:100}", OK},
        {"settled past the last change", TL_BODY_BEAT, HEAD "9:101 16:{1:100}", TL_REFUSAL_RANGE},
        {"said age on a change", TL_BODY_CHANGE, HEAD "9:7 10:300 17:{1:{1:7 19:{1:5}}}", OK},
        {"said age on a beat", TL_BODY_BEAT, HEAD "10:1 16:{}", TL_REFUSAL_RANGE},
        {"said age on a picture", TL_BODY_PICTURE, HEAD "10:1 20:{1:1}", TL_REFUSAL_RANGE},
    };
    ROWS_CHECK(*state, rows);
}

static void
rules_of_the_topic(void **state)
{
    static const struct row rows[] = {
        {"beat on its topic", TL_BODY_BEAT, HEAD "16:{}", OK},
        {"change of another node", TL_BODY_CHANGE,
         "1:1 2:'engine-2' 3:1 4:5 5:7 17:{1:{1:7 19:{1:5}}}", TL_REFUSAL_NOT_YOUR_TOPIC},
        {"node that begins with the publisher", TL_BODY_BEAT, "1:1 2:'engine-11' 3:1 4:5 5:7 16:{}",
         TL_REFUSAL_NOT_YOUR_TOPIC},
        {"change on the topic of beats", TL_BODY_BEAT, VALUE("19:{1:5}"),
         TL_REFUSAL_NOT_YOUR_TOPIC},
        {"beat on the topic of changes", TL_BODY_CHANGE, HEAD "16:{}", TL_REFUSAL_NOT_YOUR_TOPIC},
        {"verdict on the topic of beats", TL_BODY_BEAT, NOT_READY(""), TL_REFUSAL_NOT_YOUR_TOPIC},
        {"READY on the topic of pictures", TL_BODY_PICTURE, READY(DIGESTS),
         TL_REFUSAL_NOT_YOUR_TOPIC},
        {"picture on the topic of alerts", TL_BODY_ALERTS, PICTURE(""), TL_REFUSAL_NOT_YOUR_TOPIC},
        {"alerts on the topic of pictures", TL_BODY_PICTURE, HEAD "21:{}",
         TL_REFUSAL_NOT_YOUR_TOPIC},
        {"recorded on the topic of receipts", TL_BODY_RECEIPT, HEAD "24:{1:5 2:6}",
         TL_REFUSAL_NOT_YOUR_TOPIC},
        {"receipt on the topic of recorded", TL_BODY_RECORDED, RECEIPT(""),
         TL_REFUSAL_NOT_YOUR_TOPIC},
        {"judged on the topic of the bus", TL_BODY_COUNTERS, JUDGED("2:'deck' 5:1"),
         TL_REFUSAL_NOT_YOUR_TOPIC},
        {"counters on the topic of judged", TL_BODY_JUDGED, HEAD "25:{}",
         TL_REFUSAL_NOT_YOUR_TOPIC},
        {"counters on the bus", TL_BODY_COUNTERS, HEAD "25:{}", OK},
        {"refusals on the bus", TL_BODY_REFUSALS, REFUSAL("2:4 3:1"), OK},
        {"receipt on the bus", TL_BODY_COUNTERS, RECEIPT(""), TL_REFUSAL_NOT_YOUR_TOPIC},
    };
    ROWS_CHECK(*state, rows);
}

static void
rules_of_a_datum(void **state)
{
    static const struct row rows[] = {
        {"change that is empty", TL_BODY_CHANGE, HEAD "17:{}", TL_REFUSAL_EMPTY},
        {"datum that is empty", TL_BODY_CHANGE, HEAD "17:{1:{}}", TL_REFUSAL_EMPTY},
        {"no value", TL_BODY_CHANGE, DATUM("1:7"), TL_REFUSAL_MISSING},
        {"no sequence", TL_BODY_BEAT, BEAT("3:{19:{1:5}}"), TL_REFUSAL_MISSING},
        {"sequence of the change", TL_BODY_CHANGE, DATUM("1:7 19:{1:5}"), OK},
        {"sequence of another change", TL_BODY_CHANGE, DATUM("1:8 19:{1:5}"), TL_REFUSAL_RANGE},
        {"age in a change", TL_BODY_CHANGE, DATUM("1:7 4:1 19:{1:5}"), TL_REFUSAL_RANGE},
        {"unknown of nothing", TL_BODY_CHANGE, VALUE("16:{}"), TL_REFUSAL_EMPTY},
        {"unknown set", TL_BODY_CHANGE, VALUE("16:{1:3}"), OK},
        {"stated for no pass", TL_BODY_CHANGE, VALUE("3:{1:9} 19:{1:5}"), TL_REFUSAL_MISSING},
        {"stated for no recovery", TL_BODY_CHANGE, VALUE("3:{2:9} 19:{1:5}"), TL_REFUSAL_MISSING},
        {"stated for nothing", TL_BODY_CHANGE, VALUE("3:{} 19:{1:5}"), TL_REFUSAL_EMPTY},
        {"order without slot", TL_BODY_CHANGE, VALUE("18:{1:1 2:'a' 3:1 5:53}"),
         TL_REFUSAL_MISSING},
        {"result without slot", TL_BODY_CHANGE, VALUE("25:{1:74}"), TL_REFUSAL_MISSING},
        {"repeater without slot", TL_BODY_CHANGE, VALUE("20:{1:5}"), TL_REFUSAL_MISSING},
        {"inbound without slot", TL_BODY_CHANGE, VALUE("26:{1:1 2:'a' 3:1}"), TL_REFUSAL_MISSING},
        {"inbound in another's slot", TL_BODY_CHANGE, SLOTTED("2", "26:{1:1 2:'a' 3:1}"),
         TL_REFUSAL_RANGE},
        {"unknown order without slot", TL_BODY_CHANGE, VALUE("16:{1:2}"), TL_REFUSAL_MISSING},
        {"unknown order", TL_BODY_CHANGE, SLOTTED("9", "16:{1:2}"), OK},
        {"unknown deck with slot", TL_BODY_CHANGE, SLOTTED("9", "16:{1:6}"), TL_REFUSAL_RANGE},
        {"recovery with slot", TL_BODY_CHANGE, SLOTTED("1", "17:{1:9 2:53}"), TL_REFUSAL_RANGE},
        {"set with slot", TL_BODY_CHANGE, SLOTTED("1", "19:{1:5}"), TL_REFUSAL_RANGE},
        {"battery with slot", TL_BODY_CHANGE, SLOTTED("1", "21:{1:53}"), TL_REFUSAL_RANGE},
        {"deck with slot", TL_BODY_CHANGE, SLOTTED("1", "22:{1:53}"), TL_REFUSAL_RANGE},
        {"call with slot", TL_BODY_CHANGE, SLOTTED("1", "23:{1:1 2:'a'}"), TL_REFUSAL_RANGE},
        {"hook with slot", TL_BODY_CHANGE, SLOTTED("1", "24:{1:53}"), TL_REFUSAL_RANGE},
    };
    ROWS_CHECK(*state, rows);
}

static void
rules_of_the_values(void **state)
{
    static const struct row rows[] = {
        {"recovery without id", TL_BODY_CHANGE, VALUE("17:{2:53}"), TL_REFUSAL_MISSING},
        {"recovery without state", TL_BODY_CHANGE, VALUE("17:{1:9}"), TL_REFUSAL_MISSING},
        {"recovery that is empty", TL_BODY_CHANGE, VALUE("17:{}"), TL_REFUSAL_EMPTY},
        {"order without side", TL_BODY_CHANGE, SLOTTED("7", "18:{2:'a' 3:1 5:53}"),
         TL_REFUSAL_MISSING},
        {"order without type", TL_BODY_CHANGE, SLOTTED("7", "18:{1:1 3:1 5:53}"),
         TL_REFUSAL_MISSING},
        {"order without weight", TL_BODY_CHANGE, SLOTTED("7", "18:{1:1 2:'a' 5:53}"),
         TL_REFUSAL_MISSING},
        {"order without state", TL_BODY_CHANGE, SLOTTED("7", "18:{1:1 2:'a' 3:1}"),
         TL_REFUSAL_MISSING},
        {"set of nothing", TL_BODY_CHANGE, VALUE("19:{}"), TL_REFUSAL_EMPTY},
        {"set of 1 lb", TL_BODY_CHANGE, VALUE("19:{1:1}"), OK},
        {"repeater of nothing", TL_BODY_CHANGE, SLOTTED("3", "20:{}"), TL_REFUSAL_EMPTY},
        {"battery of nothing", TL_BODY_CHANGE, VALUE("21:{}"), TL_REFUSAL_EMPTY},
        {"hook of nothing", TL_BODY_CHANGE, VALUE("24:{}"), TL_REFUSAL_EMPTY},
        {"call without side", TL_BODY_CHANGE, VALUE("23:{2:'a'}"), TL_REFUSAL_MISSING},
        {"call without type", TL_BODY_CHANGE, VALUE("23:{1:1}"), TL_REFUSAL_MISSING},
        {"inbound without type", TL_BODY_CHANGE, SLOTTED("1", "26:{1:1 3:1}"), TL_REFUSAL_MISSING},
        {"inbound without weight", TL_BODY_CHANGE, SLOTTED("1", "26:{1:1 2:'a'}"),
         TL_REFUSAL_MISSING},
        {"deck that is empty", TL_BODY_CHANGE, VALUE("22:{}"), TL_REFUSAL_EMPTY},
        {"deck without state", TL_BODY_CHANGE, VALUE("22:{2:1}"), TL_REFUSAL_MISSING},
        {"foul with a reason", TL_BODY_CHANGE, VALUE("22:{1:74 2:1}"), OK},
        {"foul without reason", TL_BODY_CHANGE, VALUE("22:{1:74 3:90}"), TL_REFUSAL_MISSING},
        {"clear", TL_BODY_CHANGE, VALUE("22:{1:53}"), OK},
        {"clear with a reason", TL_BODY_CHANGE, VALUE("22:{1:53 2:1}"), TL_REFUSAL_RANGE},
        {"clear with a time", TL_BODY_CHANGE, VALUE("22:{1:53 3:9}"), TL_REFUSAL_RANGE},
        {"clear that was clear", TL_BODY_CHANGE, VALUE("22:{1:53 4:1}"), TL_REFUSAL_RANGE},
        {"no foul", TL_BODY_CHANGE, VALUE("22:{1:108}"), OK},
        {"no foul with a reason", TL_BODY_CHANGE, VALUE("22:{1:108 2:1}"), TL_REFUSAL_RANGE},
        {"trap on a wire", TL_BODY_CHANGE, SLOTTED("7", "25:{1:53 2:1}"), OK},
        {"trap on no wire", TL_BODY_CHANGE, SLOTTED("7", "25:{1:53}"), TL_REFUSAL_MISSING},
        {"bolter", TL_BODY_CHANGE, SLOTTED("7", "25:{1:74}"), OK},
        {"bolter on a wire", TL_BODY_CHANGE, SLOTTED("7", "25:{1:74 2:1}"), TL_REFUSAL_RANGE},
        {"wave-off on a wire", TL_BODY_CHANGE, SLOTTED("7", "25:{1:108 2:1}"), TL_REFUSAL_RANGE},
        {"result of no outcome", TL_BODY_CHANGE, SLOTTED("7", "25:{2:1}"), TL_REFUSAL_MISSING},
    };
    ROWS_CHECK(*state, rows);
}

static void
rules_of_a_beat(void **state)
{
    static const struct row rows[] = {
        {"datum of the last change", TL_BODY_BEAT, BEAT("3:{1:100 19:{1:5}}"), OK},
        {"datum newer than the last change", TL_BODY_BEAT, BEAT("3:{1:101 19:{1:5}}"),
         TL_REFUSAL_RANGE},
        {"oldest held is the last", TL_BODY_BEAT, HEAD "16:{1:100 2:100}", OK},
        {"oldest held is newer than the last", TL_BODY_BEAT, HEAD "16:{1:100 2:101}",
         TL_REFUSAL_RANGE},
        {"two of one kind in two slots", TL_BODY_BEAT,
         BEAT("3:{1:7 2:1 20:{1:5}} 3:{1:7 2:2 20:{1:5}}"), OK},
        {"two kinds in one slot", TL_BODY_BEAT, BEAT("3:{1:7 2:1 20:{1:5}} 3:{1:7 2:1 25:{1:74}}"),
         OK},
        {"two of one name", TL_BODY_BEAT, BEAT("3:{1:7 22:{1:74 2:1}} 3:{1:8 22:{1:53}}"),
         TL_REFUSAL_TOO_MANY},
        {"one name known and unknown", TL_BODY_BEAT, BEAT("3:{1:7 16:{1:6}} 3:{1:8 22:{1:53}}"),
         TL_REFUSAL_TOO_MANY},
        {"one name at the two ends", TL_BODY_BEAT,
         BEAT("3:{1:7 19:{1:5}} 3:{1:7 21:{1:53}} 3:{1:7 24:{1:53}} 3:{1:7 19:{1:6}}"),
         TL_REFUSAL_TOO_MANY},
        {"sample of nothing", TL_BODY_BEAT, BEAT("4:{}"), TL_REFUSAL_EMPTY},
        {"sample without value", TL_BODY_BEAT, BEAT("4:{1:9}"), TL_REFUSAL_MISSING},
        {"reading without source", TL_BODY_BEAT, WIND("7:{3:9}"), TL_REFUSAL_MISSING},
        {"reading that is empty", TL_BODY_BEAT, WIND("7:{}"), TL_REFUSAL_EMPTY},
    };
    ROWS_CHECK(*state, rows);
}

static void
rules_of_a_verdict(void **state)
{
    static const struct row rows[] = {
        {"ready for an event", TL_BODY_VERDICT, READY(DIGESTS), OK},
        {"ready for none", TL_BODY_VERDICT, HEAD "19:{1:1 2:23235 " DIGESTS "}",
         TL_REFUSAL_MISSING},
        {"ready with a cause", TL_BODY_VERDICT, READY("5:{" CAUSE "} " DIGESTS), TL_REFUSAL_RANGE},
        {"ready with a count", TL_BODY_VERDICT, READY("6:1 " DIGESTS), TL_REFUSAL_RANGE},
        {"ready with a kind", TL_BODY_VERDICT, READY("3:1 " DIGESTS), TL_REFUSAL_RANGE},
        {"not ready", TL_BODY_VERDICT, NOT_READY(""), OK},
        {"not ready without cause", TL_BODY_VERDICT, HEAD "19:{2:42300 3:1 6:1 " DIGESTS "}",
         TL_REFUSAL_MISSING},
        {"not ready without count", TL_BODY_VERDICT,
         HEAD "19:{2:42300 3:1 5:{" CAUSE "} " DIGESTS "}", TL_REFUSAL_MISSING},
        {"not ready without kind", TL_BODY_VERDICT,
         HEAD "19:{2:42300 5:{" CAUSE "} 6:1 " DIGESTS "}", TL_REFUSAL_MISSING},
        {"no word", TL_BODY_VERDICT, HEAD "19:{1:1 " DIGESTS "}", TL_REFUSAL_MISSING},
        {"verdict that is empty", TL_BODY_VERDICT, HEAD "19:{}", TL_REFUSAL_EMPTY},
        {"no judgement digest", TL_BODY_VERDICT, READY("9:'fedcba9876543210'"), TL_REFUSAL_MISSING},
        {"no key digest", TL_BODY_VERDICT, READY("8:'fedcba9876543210'"), TL_REFUSAL_MISSING},
        {"tick with a number", TL_BODY_VERDICT, NOT_READY(" 12:1"), OK},
        {"tick without number", TL_BODY_VERDICT,
         HEAD "19:{2:42300 3:1 5:{" CAUSE "} 6:1 " DIGESTS " 12:1}", TL_REFUSAL_MISSING},
        {"before the first tick", TL_BODY_VERDICT,
         HEAD "19:{2:42300 3:1 5:{" CAUSE "} 6:1 " DIGESTS "}", OK},
        {"cause of no rule", TL_BODY_VERDICT, HEAD "19:{2:42300 3:1 5:{3:1} 6:1 " DIGESTS "}",
         TL_REFUSAL_MISSING},
    };
    ROWS_CHECK(*state, rows);
}

static void
rules_of_causes_and_pictures(void **state)
{
    static const struct row rows[] = {
        {"picture without number", TL_BODY_PICTURE, HEAD "20:{2:1}", TL_REFUSAL_MISSING},
        {"picture that is empty", TL_BODY_PICTURE, HEAD "20:{}", TL_REFUSAL_EMPTY},
        {"cause that is empty", TL_BODY_PICTURE, PICTURE("8:{}"), TL_REFUSAL_EMPTY},
        {"cause without rule", TL_BODY_PICTURE, PICTURE("8:{3:1}"), TL_REFUSAL_MISSING},
        {"cause without state", TL_BODY_PICTURE, PICTURE("8:{1:9}"), TL_REFUSAL_MISSING},
        {"subject without node", TL_BODY_PICTURE, PICTURE("8:{" CAUSE " 4:{2:1}}"),
         TL_REFUSAL_MISSING},
        {"subject that is empty", TL_BODY_PICTURE, PICTURE("8:{" CAUSE " 4:{}}"), TL_REFUSAL_EMPTY},
        {"a value of 0", TL_BODY_PICTURE, PICTURE("8:{" CAUSE " 5:{}}"), OK},
        {"station without node", TL_BODY_PICTURE, PICTURE("7:{3:53 6:'01234567'}"),
         TL_REFUSAL_MISSING},
        {"station without liveness", TL_BODY_PICTURE, PICTURE("7:{1:'deck' 6:'01234567'}"),
         TL_REFUSAL_MISSING},
        {"station without digest", TL_BODY_PICTURE, PICTURE("7:{1:'deck' 3:53}"),
         TL_REFUSAL_MISSING},
        {"two stations", TL_BODY_PICTURE,
         PICTURE("7:{1:'deck' 3:53 6:'01234567'} 7:{1:'aid' 3:53 6:'01234567'}"), OK},
        {"one station twice", TL_BODY_PICTURE,
         PICTURE("7:{1:'deck' 3:53 6:'01234567'} 7:{1:'deck' 3:74 6:'01234567'}"),
         TL_REFUSAL_TOO_MANY},
        {"datum newer than applied", TL_BODY_PICTURE,
         PICTURE("7:{" STATION " 7:{1:9 22:{1:74 2:1}}}"), OK},
        {"one datum twice", TL_BODY_PICTURE,
         PICTURE("7:{" STATION " 7:{1:9 22:{1:74 2:1}} 7:{1:9 22:{1:53}}}"), TL_REFUSAL_TOO_MANY},
        {"listed without event", TL_BODY_PICTURE, PICTURE("6:{4:1}"), TL_REFUSAL_MISSING},
        {"listed with nothing else", TL_BODY_PICTURE, PICTURE("6:{1:{" EVENT "}}"), OK},
        {"listed trap on no wire", TL_BODY_PICTURE, PICTURE("6:{1:{" EVENT "} 3:{1:53}}"),
         TL_REFUSAL_MISSING},
    };
    ROWS_CHECK(*state, rows);
}

static void
rules_of_the_other_bodies(void **state)
{
    static const struct row rows[] = {
        {"receipt for no incarnation", TL_BODY_RECEIPT, HEAD "18:{2:1}", TL_REFUSAL_MISSING},
        {"receipt that is empty", TL_BODY_RECEIPT, HEAD "18:{}", TL_REFUSAL_EMPTY},
        {"refused without sequence", TL_BODY_RECEIPT, RECEIPT("3:{2:33}"), TL_REFUSAL_MISSING},
        {"refused without reason", TL_BODY_RECEIPT, RECEIPT("3:{1:9}"), TL_REFUSAL_MISSING},
        {"higher is the same", TL_BODY_RECEIPT, RECEIPT("6:5"), OK},
        {"higher is lower", TL_BODY_RECEIPT, RECEIPT("6:4"), TL_REFUSAL_RANGE},
        {"no alert", TL_BODY_ALERTS, HEAD "21:{}", OK},
        {"alert that is empty", TL_BODY_ALERTS, ALERT(""), TL_REFUSAL_EMPTY},
        {"alert without cause", TL_BODY_ALERTS, ALERT("3:2"), TL_REFUSAL_MISSING},
        {"alert without severity", TL_BODY_ALERTS, ALERT("1:{" CAUSE "}"), TL_REFUSAL_MISSING},
        {"alert for an event without pass", TL_BODY_ALERTS, ALERT("1:{" CAUSE "} 2:{1:1} 3:2"),
         TL_REFUSAL_MISSING},
        {"judged refused with its reason", TL_BODY_JUDGED, JUDGED("2:'deck' 5:2 6:33"), OK},
        {"judged refused without reason", TL_BODY_JUDGED, JUDGED("2:'deck' 5:2"),
         TL_REFUSAL_MISSING},
        {"judged applied with a reason", TL_BODY_JUDGED, JUDGED("2:'deck' 5:1 6:33"),
         TL_REFUSAL_RANGE},
        {"judged nobody", TL_BODY_JUDGED, JUDGED("5:1"), TL_REFUSAL_MISSING},
        {"judged nothing", TL_BODY_JUDGED, JUDGED("2:'deck'"), TL_REFUSAL_MISSING},
        {"judged that is empty", TL_BODY_JUDGED, JUDGED(""), TL_REFUSAL_EMPTY},
        {"recorded for no incarnation", TL_BODY_RECORDED, HEAD "24:{2:9}", TL_REFUSAL_MISSING},
        {"recorded that is empty", TL_BODY_RECORDED, HEAD "24:{}", TL_REFUSAL_EMPTY},
        {"refusals of nothing", TL_BODY_REFUSALS, HEAD "22:{}", TL_REFUSAL_EMPTY},
        {"refusal that is empty", TL_BODY_REFUSALS, REFUSAL(""), TL_REFUSAL_EMPTY},
        {"refusal without reason", TL_BODY_REFUSALS, REFUSAL("3:1"), TL_REFUSAL_MISSING},
        {"refusal without count", TL_BODY_REFUSALS, REFUSAL("2:4"), TL_REFUSAL_MISSING},
        {"counters just started", TL_BODY_COUNTERS, HEAD "25:{}", OK},
    };
    ROWS_CHECK(*state, rows);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rules_of_the_envelope),
        cmocka_unit_test(rules_of_the_topic),
        cmocka_unit_test(rules_of_a_datum),
        cmocka_unit_test(rules_of_the_values),
        cmocka_unit_test(rules_of_a_beat),
        cmocka_unit_test(rules_of_a_verdict),
        cmocka_unit_test(rules_of_causes_and_pictures),
        cmocka_unit_test(rules_of_the_other_bodies),
    };
    return cmocka_run_group_tests_name("rules", tests, world_open, world_close);
}
