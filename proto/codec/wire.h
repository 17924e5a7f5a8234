/* SPDX-License-Identifier: Apache-2.0 */
/*
 * wire.h - the generated structs under short names. Inside proto/codec and its tests only.
 *
 * A wire_x is what protobuf-c made of `message X`: its numbers are unchecked, its enums may hold
 * any value and its pointers lead into the arena of a tl_codec.
 */
#ifndef TL_CODEC_WIRE_H
#define TL_CODEC_WIRE_H

#include "proto/schema/trapline.pb-c.h"

typedef Trapline__V1__Envelope wire_envelope;
typedef Trapline__V1__Event wire_event;
typedef Trapline__V1__Echo wire_echo;
typedef Trapline__V1__Datum wire_datum;
typedef Trapline__V1__Unknown wire_unknown;
typedef Trapline__V1__Recovery wire_recovery;
typedef Trapline__V1__Order wire_order;
typedef Trapline__V1__WeightSet wire_weight_set;
typedef Trapline__V1__Repeater wire_repeater;
typedef Trapline__V1__Battery wire_battery;
typedef Trapline__V1__Deck wire_deck;
typedef Trapline__V1__Call wire_call;
typedef Trapline__V1__Hook wire_hook;
typedef Trapline__V1__PassResult wire_result;
typedef Trapline__V1__Inbound wire_inbound;
typedef Trapline__V1__Rig wire_rig;
typedef Trapline__V1__Sheave wire_sheave;
typedef Trapline__V1__Pendant wire_pendant;
typedef Trapline__V1__Free wire_free;
typedef Trapline__V1__Retract wire_retract;
typedef Trapline__V1__Stanchions wire_stanchions;
typedef Trapline__V1__Track wire_track;
typedef Trapline__V1__Aid wire_aid;
typedef Trapline__V1__Accumulator wire_accumulator;
typedef Trapline__V1__Crosshead wire_crosshead;
typedef Trapline__V1__Cable wire_cable;
typedef Trapline__V1__Barricade wire_barricade;
typedef Trapline__V1__BarricadePower wire_barricade_power;
typedef Trapline__V1__Watch wire_watch;
typedef Trapline__V1__Acknowledged wire_acknowledged;
typedef Trapline__V1__Override wire_override;
typedef Trapline__V1__OutOfService wire_out_of_service;
typedef Trapline__V1__Service wire_service;
typedef Trapline__V1__Fluid wire_fluid;
typedef Trapline__V1__Fault wire_fault;
typedef Trapline__V1__Arrest wire_arrest;
typedef Trapline__V1__Freed wire_freed;
typedef Trapline__V1__SignedOff wire_signed_off;
typedef Trapline__V1__Inspected wire_inspected;
typedef Trapline__V1__PendantLife wire_pendant_life;
typedef Trapline__V1__Sample wire_sample;
typedef Trapline__V1__Wind wire_wind;
typedef Trapline__V1__TrueWind wire_true_wind;
typedef Trapline__V1__WindReading wire_reading;
typedef Trapline__V1__Motion wire_motion;
typedef Trapline__V1__MotionValue wire_motion_value;
typedef Trapline__V1__Beat wire_beat;
typedef Trapline__V1__Change wire_change;
typedef Trapline__V1__Refused wire_refused;
typedef Trapline__V1__Receipt wire_receipt;
typedef Trapline__V1__Subject wire_subject;
typedef Trapline__V1__CauseValue wire_cause_value;
typedef Trapline__V1__Would wire_would;
typedef Trapline__V1__Cause wire_cause;
typedef Trapline__V1__Verdict wire_verdict;
typedef Trapline__V1__StationState wire_station;
typedef Trapline__V1__ListedEvent wire_listed;
typedef Trapline__V1__Voiced wire_voiced;
typedef Trapline__V1__OverrideLive wire_override_live;
typedef Trapline__V1__PredictedArrest wire_predicted_arrest;
typedef Trapline__V1__PredictedRamp wire_predicted_ramp;
typedef Trapline__V1__PredictedTime wire_predicted_time;
typedef Trapline__V1__Predicted wire_predicted;
typedef Trapline__V1__Expected wire_expected;
typedef Trapline__V1__Ended wire_ended;
typedef Trapline__V1__Picture wire_picture;
typedef Trapline__V1__Alert wire_alert;
typedef Trapline__V1__AlertSet wire_alert_set;
typedef Trapline__V1__Judged wire_judged;
typedef Trapline__V1__Seen wire_seen;
typedef Trapline__V1__Base wire_base;
typedef Trapline__V1__Outcome wire_outcome;
typedef Trapline__V1__Worn wire_worn;
typedef Trapline__V1__Recorded wire_recorded;
typedef Trapline__V1__Refusal wire_refusal;
typedef Trapline__V1__Refusals wire_refusals;
typedef Trapline__V1__Counters wire_counters;

#endif
