/*
 * fields.c - JSON objects into structs, by tables; every refusal names its field.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "simulate/simulate_internal.h"

size_t tl_simulate_reader_enter(tl_simulate_reader *reader, const char *name, int index) {
    size_t mark = strlen(reader->path), room = sizeof reader->path - mark;
    if (index >= 0)
        snprintf(reader->path + mark, room, "[%d]", index);
    else
        snprintf(reader->path + mark, room, "%s%s", mark > 0 ? "." : "", name);
    return mark;
}

void tl_simulate_reader_leave(tl_simulate_reader *reader, size_t mark) {
    reader->path[mark] = '\0';
}

tl_status tl_simulate_field_bad(tl_simulate_reader *reader, const char *name, const char *text) {
    const char *dot = reader->path[0] != '\0' && name != NULL ? "." : "";
    snprintf(reader->message, TL_SIMULATE_MESSAGE_SIZE, "%.70s%s%.40s: %s.", reader->path, dot,
             name != NULL ? name : "", text);
    return TL_ERR_FORMAT;
}

static tl_status bad_range(tl_simulate_reader *reader, const tl_simulate_field *field) {
    char text[80];
    snprintf(text, sizeof text, "must be a%s number from %.10g to %.10g",
             field->kind == TL_FIELD_INTEGER ? " whole" : "", field->low, field->high);
    return tl_simulate_field_bad(reader, field->name, text);
}

static bool number_in_range(const cJSON *item, const tl_simulate_field *field) {
    return cJSON_IsNumber(item) && item->valuedouble >= field->low &&
           item->valuedouble <= field->high;
}

static tl_status read_number(tl_simulate_reader *reader, const cJSON *item,
                             const tl_simulate_field *field, double *to) {
    if (!number_in_range(item, field))
        return bad_range(reader, field);
    *to = item->valuedouble;
    return TL_OK;
}

static tl_status read_integer(tl_simulate_reader *reader, const cJSON *item,
                              const tl_simulate_field *field, int *to) {
    if (!number_in_range(item, field) || item->valuedouble != floor(item->valuedouble))
        return bad_range(reader, field);
    *to = (int)item->valuedouble;
    return TL_OK;
}

static tl_status read_flag(tl_simulate_reader *reader, const cJSON *item,
                           const tl_simulate_field *field, bool *to) {
    if (!cJSON_IsBool(item))
        return tl_simulate_field_bad(reader, field->name, "must be true or false");
    *to = cJSON_IsTrue(item);
    return TL_OK;
}

static tl_status read_colour(tl_simulate_reader *reader, const cJSON *item,
                             const tl_simulate_field *field, double *to) {
    if (number_in_range(item, field)) {
        for (int c = 0; c < TL_SIMULATE_CHANNELS; c++)
            to[c] = item->valuedouble;
        return TL_OK;
    }
    bool good = cJSON_IsArray(item) && cJSON_GetArraySize(item) == TL_SIMULATE_CHANNELS;
    for (int c = 0; c < TL_SIMULATE_CHANNELS && good; c++)
        good = number_in_range(cJSON_GetArrayItem(item, c), field);
    if (!good)
        return tl_simulate_field_bad(reader, field->name,
                                     "must be one level or three (red, green, blue), from 0 up");
    for (int c = 0; c < TL_SIMULATE_CHANNELS; c++)
        to[c] = cJSON_GetArrayItem(item, c)->valuedouble;
    return TL_OK;
}

static tl_status read_text(tl_simulate_reader *reader, const cJSON *item,
                           const tl_simulate_field *field, char *to) {
    if (!cJSON_IsString(item) || strlen(item->valuestring) >= TL_SIMULATE_NAME_SIZE)
        return tl_simulate_field_bad(reader, field->name, "must be a text of at most 63 bytes");
    strcpy(to, item->valuestring);
    return TL_OK;
}

static tl_status read_word(tl_simulate_reader *reader, const cJSON *item,
                           const tl_simulate_field *field, int *to) {
    char text[80] = "must be one of";
    for (int i = 0; field->words[i] != NULL; i++) {
        if (cJSON_IsString(item) && strcmp(item->valuestring, field->words[i]) == 0) {
            *to = i;
            return TL_OK;
        }
        size_t length = strlen(text);
        snprintf(text + length, sizeof text - length, " %s", field->words[i]);
    }
    return tl_simulate_field_bad(reader, field->name, text);
}

static tl_status read_zone(tl_simulate_reader *reader, const cJSON *item,
                           const tl_simulate_field *field, int *to) {
    int minutes;
    if (!cJSON_IsString(item) || tl_zone_parse(item->valuestring, &minutes) != TL_OK)
        return tl_simulate_field_bad(reader, field->name, "must be a zone like \"+01:00\"");
    *to = minutes;
    return TL_OK;
}

static tl_status read_members(tl_simulate_reader *reader, const cJSON *item, const char *name,
                              int index, const tl_simulate_field *members, void *base) {
    size_t mark = tl_simulate_reader_enter(reader, name, -1);
    if (index >= 0)
        tl_simulate_reader_enter(reader, NULL, index);
    tl_simulate_target target = {members, base};
    tl_status status = tl_simulate_fields_read(reader, item, &target, 1);
    tl_simulate_reader_leave(reader, mark);
    return status;
}

static tl_status read_object(tl_simulate_reader *reader, const cJSON *item,
                             const tl_simulate_field *field, char *base) {
    bool *on = (bool *)base; /* first in each of these structs */
    if (cJSON_IsNull(item) || cJSON_IsBool(item)) {
        *on = cJSON_IsTrue(item);
        return TL_OK;
    }
    *on = true;
    return read_members(reader, item, field->name, -1, field->members, base);
}

static tl_status read_list(tl_simulate_reader *reader, const cJSON *item,
                           const tl_simulate_field *field, char *base) {
    int count = cJSON_GetArraySize(item);
    if (!cJSON_IsArray(item) || count > (int)field->high) {
        char text[60];
        snprintf(text, sizeof text, "must be a list of at most %d", (int)field->high);
        return tl_simulate_field_bad(reader, field->name, text);
    }
    char *element = base + field->offset;
    memset(element, 0, (size_t)field->high * field->element_size);
    tl_status status = TL_OK;
    for (int i = 0; i < count && status == TL_OK; i++)
        status = read_members(reader, cJSON_GetArrayItem(item, i), field->name, i, field->members,
                              element + (size_t)i * field->element_size);
    *(int *)(void *)(base + field->count_offset) = count;
    return status;
}

static tl_status read_field(tl_simulate_reader *reader, const cJSON *item,
                            const tl_simulate_field *field, char *base) {
    void *to = base + field->offset;
    switch (field->kind) {
    case TL_FIELD_NUMBER:
        return read_number(reader, item, field, to);
    case TL_FIELD_INTEGER:
        return read_integer(reader, item, field, to);
    case TL_FIELD_FLAG:
        return read_flag(reader, item, field, to);
    case TL_FIELD_COLOUR:
        return read_colour(reader, item, field, to);
    case TL_FIELD_TEXT:
        return read_text(reader, item, field, to);
    case TL_FIELD_WORD:
        return read_word(reader, item, field, to);
    case TL_FIELD_ZONE:
        return read_zone(reader, item, field, to);
    case TL_FIELD_OBJECT:
        return read_object(reader, item, field, to);
    case TL_FIELD_LIST:
        return read_list(reader, item, field, base);
    case TL_FIELD_ELSEWHERE:
        break;
    }
    return TL_OK;
}

tl_status tl_simulate_fields_read(tl_simulate_reader *reader, const cJSON *object,
                                  const tl_simulate_target *target, size_t targets) {
    if (!cJSON_IsObject(object))
        return tl_simulate_field_bad(reader, NULL, "must be an object, { ... }");
    const cJSON *item;
    cJSON_ArrayForEach(item, object) {
        const tl_simulate_field *found = NULL;
        void *base = NULL;
        for (size_t t = 0; t < targets && found == NULL; t++) {
            for (const tl_simulate_field *f = target[t].fields; f->name != NULL; f++) {
                if (strcmp(f->name, item->string) == 0) {
                    found = f;
                    base = target[t].base;
                }
            }
        }
        if (found == NULL)
            return tl_simulate_field_bad(reader, item->string, "there is no such field");
        tl_status status = read_field(reader, item, found, base);
        if (status != TL_OK)
            return status;
    }
    return TL_OK;
}
