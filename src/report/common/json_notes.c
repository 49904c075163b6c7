#include "report/common/json_notes.h"

#include "inspection/notes.h"
#include "json/utf8.h"

SW_WORDS(kind_word, sw_note_kind, sw_note_kind_name)

/* A kind that is not known is one of a later version. */
static void take_kind(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    if (json_is_string(value))
        *(sw_note_kind *)at = sw_note_kind_of(json_string_value(value));
    else
        sw_read_wrong(r, "\"%s\" is no text", field->key);
}

static void take_places(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    sw_note *to = sw_struct_of(field, at);
    if (!json_is_array(value) || json_array_size(value) > SW_NOTE_PLACES)
        sw_read_wrong(r, "\"%s\" is no list of at most %d", field->key, SW_NOTE_PLACES);
    for (size_t i = 0; !r->status && i < json_array_size(value); i++) {
        const json_t *place = json_array_get(value, i);
        if (json_is_string(place) && json_string_length(place) > 0 && json_string_length(place) < SW_PLACE_ROOM)
            sw_utf8_clean(json_string_value(place), to->places[to->place_count++], SW_PLACE_ROOM);
        else
            sw_read_wrong(r, "one of \"%s\" is none", field->key);
    }
}

static const sw_field note[] = {
    {"kind", SW_MUST, SW_MEMBER(sw_note, kind), .name = kind_word, .put = sw_put_word, .take = take_kind},
    {"places", SW_MAY, SW_ELEMENTS(sw_note, places), .beside = offsetof(sw_note, place_count), .inside = true,
     .put = sw_put_list, .put_item = sw_put_text, .take = take_places},
    {"text", SW_MUST, SW_TEXT(sw_note, text)},
};

json_t *sw_put_sentences(const sw_field *field, const void *at, sw_putting *p)
{
    const sw_notes *notes = at;
    json_t *array = json_array();
    (void)field;
    for (size_t i = 0; i < notes->count; i++)
        sw_json_append(array, sw_json_text(notes->list[i].text), &p->failed);
    return array;
}

void sw_take_sentences(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    sw_notes *notes = at;
    if (!json_is_array(value) && !json_is_null(value))
        sw_read_wrong(r, "\"%s\" is no list", field->key);
    for (size_t i = 0; !r->status && i < json_array_size(value); i++) {
        const char *text = json_string_value(json_array_get(value, i));
        if (!text)
            sw_read_wrong(r, "one of \"%s\" is no text", field->key);
        else if (sw_note_add(notes, SW_NOTE_OTHER, "%s", ""))
            sw_read_no_memory(r);
        else
            sw_utf8_clean(text, notes->list[i].text, sizeof notes->list[i].text);
    }
}

static void put_all(const sw_notes *notes, json_t *array, sw_putting *p)
{
    static const sw_field whole = {SW_PART(note)};
    for (size_t i = 0; i < notes->count; i++)
        sw_json_append(array, sw_put_object(&whole, &notes->list[i], p), &p->failed);
}

json_t *sw_put_notes(const sw_field *field, const void *at, sw_putting *p)
{
    json_t *array = json_array();
    put_all(at, array, p);
    if (field->beside != field->at)
        put_all((const void *)((const char *)at - field->at + field->beside), array, p);
    return array;
}

void sw_take_notes(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    const sw_field list = {field->key, field->need, SW_LIST(sw_notes, list, count, note, "note")};
    sw_notes_free(at);
    sw_take_list(r, &list, value, at);
}
