/* SPDX-License-Identifier: Apache-2.0 */
/* rules_why_picture.c - why the rules about the tool and its data matter. See rules_why.h. */
#include "proto/vocab/rules_why_rows.h"

static const struct tl_rule_why ROWS[] = {
    {.rule = TL_RULE_TWO_WRITERS,
     .bad_when = "Two running programs claim to be one station: the older one still answers after "
                 "the newer one was heard.",
     .why =
         "Nobody can tell whose words are the station's; one of the two may repeat an old state.",
     .needs = "One program a station. The validator sees it in the beats; nobody says it.",
     .act = "Find both programs and stop one of them. Work by voice with that station meanwhile."},
    {.rule = TL_RULE_STATION_LOST,
     .bad_when = "A station of stations.yaml has given no fresh answer for 0.8 s, has not told its "
                 "whole state since it came, or came back less than 3 s ago. One that was never "
                 "heard is only not yet there until a recovery is open. When two have said by "
                 "voice all that it owes for this event, it is shown as lost and does not force.",
     .why = "Its last words still stand on the screens and nobody knows whether they hold; a FOUL "
            "from there could not arrive.",
     .needs = "A fresh answer from every station; or by voice, from two, all that it owes.",
     .act = "Go on by voice with its talker. Look at its terminal, network and power."},
    {.rule = TL_RULE_VALIDATORS_DIFFER,
     .bad_when = "The other validator holds other reports of a live station, or stays behind, for "
                 "0.6 s; and for 3 s after it has ended.",
     .why = "Two judges with two pictures: one of them judges by something that is not so.",
     .needs = "The same reports at all validators.",
     .act = "Believe neither; work by voice. Look at the buses and the host of that validator."},
    {.rule = TL_RULE_LIST_NOT_HEARD,
     .bad_when = "This validator has started and has not heard primary's list of aircraft since; a "
                 "live primary without a recovery is no such case.",
     .why = "Without the list nobody knows for which aircraft the words of the stations hold.",
     .needs = "The recovery and the order of each aircraft, from primary.",
     .act = "Wait one second. If it stays, look at primary's terminal and network."},
    {.rule = TL_RULE_PRIMARY_RESTARTED,
     .bad_when =
         "Primary has started anew, or has taken its recovery back, and has not spoken of a "
         "recovery since.",
     .why = "The list in hand is that of a program that is gone; the next aircraft may be another.",
     .needs = "'resume' or 'open', from primary.",
     .act = "At primary: 'resume' and 'confirm' when the list still holds, else 'open'."},
    {.rule = TL_RULE_LIMIT_REACHED,
     .bad_when = "There are more causes than a picture can list.",
     .why = "What is left out was found to matter least, by rule and not by anybody who looked.",
     .needs = "Fewer causes; nobody says it.",
     .act = "Work by voice. Deal with what is listed first."},
    {.rule = TL_RULE_UNPROVEN,
     .bad_when = "No rule speaks, but a fact that READY rests on is not positively there: asked a "
                 "second time, in another way.",
     .why = "Either a rule failed to speak or a fact went missing between two looks; READY would "
            "rest on nothing.",
     .needs = "Every fact that READY rests on; nobody says it.",
     .act =
         "Do not wait for it to go away: work by voice, and report it as a fault of the program."},
    {.rule = TL_RULE_REFUSED_PUBLISHER,
     .bad_when = "A key published what it may not, or a frame failed a check that names its "
                 "publisher, within the last 60 s.",
     .why = "Someone or some program tries to speak for another; what it said was not taken.",
     .needs = "Nothing: what was refused has changed nothing.",
     .act = "Find that host and that key; revoke the key when nobody can explain it."},
    {.rule = TL_RULE_OTHER_BODY,
     .bad_when = "One station sent two different messages under one number within the last 60 s.",
     .why = "A damaged or forged message, or two programs with one key: one of the two is not what "
            "the station said.",
     .needs = "One message a number; nobody says it.",
     .act = "Ask that station by voice what holds; look for a second program with its key."},
    {.rule = TL_RULE_VALIDATOR_LOST,
     .bad_when = "The other validator has sent no tick for 0.8 s.",
     .why = "The second opinion is gone; every screen shows NOT READY by itself while it is.",
     .needs = "Every validator of stations.yaml that two have not put out of service.",
     .act =
         "Start it again. When it is dead for good: 'out VALIDATOR', and 'agree out' by another."},
    {.rule = TL_RULE_BUS_DEGRADED,
     .bad_when = "A bus is down, or is 0.5 s behind the other.",
     .why = "Nothing is lost, but there is no spare: the next failure stops the picture.",
     .needs = "Every bus of bus.yaml.",
     .act = "Look at that broker and its network between passes."},
    {.rule = TL_RULE_KEYS_DIFFER,
     .bad_when = "The other validator, which is heard, holds other keys or other rights.",
     .why = "One of the two may take words from a key that is revoked, or refuse a good one.",
     .needs = "The same keys.yaml and stations.yaml at all validators.",
     .act = "Copy the key file to every host and send the programs SIGHUP."},
    {.rule = TL_RULE_VOICE_DIFFERS,
     .bad_when = "A station that came back says otherwise than two had said for it by voice; for "
                 "60 s.",
     .why = "What READY may have rested on was misheard, or has changed since.",
     .needs = "Nothing: the station's own word counts now.",
     .act = "That station and primary compare the word by voice before the next pass."},
    {.rule = TL_RULE_BY_VOICE,
     .bad_when = "Words of a lost station are known only because two others said them.",
     .why = "They were true when they were spoken; nobody there can take them back by key.",
     .needs = "Nothing: a note while it is so.",
     .act = "Keep the talker of that station on the line; get its terminal back."},
    {.rule = TL_RULE_OVERRIDE_LIVE,
     .bad_when = "Two have signed an override, and its time has not run out.",
     .why = "A rule is not asked for: everyone must know that READY says less than usual.",
     .needs = "Nothing: a note while it is so.",
     .act = "Know which rule it is; 'unsign override' ends it at once."},
    {.rule = TL_RULE_ONE_VALIDATOR,
     .bad_when = "Two have put a lost validator out of service.",
     .why = "One judge is left; a fault in it is seen by nobody.",
     .needs = "Nothing: a note while it is so.",
     .act = "Get the other one back; heard again, it counts at once."},
    {.rule = TL_RULE_RECORDER_LOST,
     .bad_when = "A recorder is configured and has sent no beat for 3 s; it beats only while what "
                 "it was given is on disk.",
     .why = "What happens now is not recorded and cannot be looked at afterwards.",
     .needs = "A beat from the recorder.",
     .act = "Go on, keep the paper log, find the disk or the host."},
    {.rule = TL_RULE_SCREEN_NO_VALIDATOR,
     .bad_when = "This screen does not hear a validator of its configuration, or its verdict is "
                 "older than 0.8 s.",
     .why = "This screen would show an old verdict as if it held.",
     .needs = "A fresh verdict of every validator that is in service, here.",
     .act = "Do not use this screen; work by voice. Look at its network, then at the validator."},
    {.rule = TL_RULE_SCREEN_HOLDING,
     .bad_when = "A verdict came back to this screen less than 3 s ago.",
     .why = "A link that comes and goes would show READY in between.",
     .needs = "Fresh verdicts for 3 s without a gap.",
     .act = "Wait. If it comes again, look at the network of this screen."},
    {.rule = TL_RULE_SCREEN_OTHER_CONFIGURATION,
     .bad_when = "A validator judges by other files than those of this screen.",
     .why = "Names, weights and limits on this screen may not be those that were judged by.",
     .needs = "The same ship, gear, aircraft and stations files on every host.",
     .act = "Copy the configuration folder again; compare the digests of 'trapline check'."},
    {.rule = TL_RULE_SCREEN_VALIDATORS_DIFFER,
     .bad_when = "The validators name no common current event.",
     .why = "One of them may judge for the aircraft before or after.",
     .needs = "One current event at all validators.",
     .act = "Wait one second. If it stays, work by voice and look at the validators."},
};

const struct tl_rule_why *
tl_rule_why_picture(size_t *count)
{
    *count = sizeof ROWS / sizeof ROWS[0];
    return ROWS;
}
