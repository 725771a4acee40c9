/* Libraries that are loaded only when a workbook or an XML listing is read, or a QR
 * code made: they bring more at the start of a program than all the rest of it, and most
 * commands need none of them.
 *
 * The functions below stand in for theirs in the program and pass the call on.
 * Whoever calls them knows nothing of it; the tests link the libraries themselves.
 * A library that cannot be loaded fails the call as if memory had run out.
 */
#include <dlfcn.h>
#include <stdatomic.h>
#include <string.h>

#include <libxml/parser.h>
#include <libxml/parserInternals.h>
#include <libxml/xmlerror.h>
#include <qrencode.h>
#include <zip.h>

/* Where the function is, found once. */
static void *find(_Atomic(void *) *known, const char *library, const char *name)
{
	void *at = atomic_load(known);
	if (!at) {
		void *handle = dlopen(library, RTLD_LAZY | RTLD_GLOBAL);
		at = handle ? dlsym(handle, name) : NULL;
		atomic_store(known, at);
	}
	return at;
}

/* `type name params`, called with `args`; `failed` when it isn't there. */
#define LATE(library, type, name, params, args, failed) \
	type name params \
	{ \
		static _Atomic(void *) known; \
		type (*call) params; \
		void *at = find(&known, library, #name); \
		if (!at) \
			return failed; \
		memcpy(&call, &at, sizeof call); \
		return call args; \
	}
#define LATE_VOID(library, name, params, args) \
	void name params \
	{ \
		static _Atomic(void *) known; \
		void (*call) params; \
		void *at = find(&known, library, #name); \
		if (at) { \
			memcpy(&call, &at, sizeof call); \
			call args; \
		} \
	}
#define ZIP(type, name, params, args, failed) LATE(PM_LIBZIP, type, name, params, args, failed)
#define XML(type, name, params, args, failed) LATE(PM_LIBXML2, type, name, params, args, failed)

ZIP(int, zip_close, (zip_t *zip), (zip), -1)
LATE_VOID(PM_LIBZIP, zip_discard, (zip_t *zip), (zip))
ZIP(int, zip_error_code_zip, (const zip_error_t *error), (error), ZIP_ER_MEMORY)
LATE_VOID(PM_LIBZIP, zip_error_fini, (zip_error_t *error), (error))
LATE_VOID(PM_LIBZIP, zip_error_init, (zip_error_t *error), (error))
ZIP(int, zip_fclose, (zip_file_t *file), (file), -1)
ZIP(zip_int64_t, zip_file_add, (zip_t *zip, const char *name, zip_source_t *source, zip_flags_t flags),
    (zip, name, source, flags), -1)
ZIP(zip_file_t *, zip_fopen_index, (zip_t *zip, zip_uint64_t index, zip_flags_t flags), (zip, index, flags), NULL)
ZIP(zip_int64_t, zip_fread, (zip_file_t *file, void *bytes, zip_uint64_t length), (file, bytes, length), -1)
ZIP(const char *, zip_get_name, (zip_t *zip, zip_uint64_t index, zip_flags_t flags), (zip, index, flags), NULL)
ZIP(zip_int64_t, zip_get_num_entries, (zip_t *zip, zip_flags_t flags), (zip, flags), -1)
ZIP(zip_t *, zip_open_from_source, (zip_source_t *source, int flags, zip_error_t *error), (source, flags, error), NULL)
ZIP(int, zip_set_file_compression, (zip_t *zip, zip_uint64_t index, zip_int32_t method, zip_uint32_t flags),
    (zip, index, method, flags), -1)
ZIP(zip_source_t *, zip_source_buffer, (zip_t *zip, const void *bytes, zip_uint64_t length, int owned),
    (zip, bytes, length, owned), NULL)
ZIP(zip_source_t *, zip_source_buffer_create, (const void *bytes, zip_uint64_t length, int owned, zip_error_t *error),
    (bytes, length, owned, error), NULL)
LATE_VOID(PM_LIBZIP, zip_source_free, (zip_source_t *source), (source))
LATE_VOID(PM_LIBZIP, zip_source_keep, (zip_source_t *source), (source))
ZIP(int, zip_stat_index, (zip_t *zip, zip_uint64_t index, zip_flags_t flags, zip_stat_t *about),
    (zip, index, flags, about), -1)

LATE(PM_LIBQR, QRcode *, QRcode_encodeString,
     (const char *text, int version, QRecLevel level, QRencodeMode hint, int casesensitive),
     (text, version, level, hint, casesensitive), NULL)
LATE_VOID(PM_LIBQR, QRcode_free, (QRcode *code), (code))

XML(long, xmlByteConsumed, (xmlParserCtxtPtr parser), (parser), -1)
XML(xmlParserCtxtPtr, xmlCreateMemoryParserCtxt, (const char *bytes, int length), (bytes, length), NULL)
XML(xmlParserCtxtPtr, xmlCreatePushParserCtxt,
    (xmlSAXHandlerPtr handler, void *data, const char *bytes, int length, const char *name),
    (handler, data, bytes, length, name), NULL)
#if LIBXML_VERSION >= 21200
XML(const xmlError *, xmlCtxtGetLastError, (void *parser), (parser), NULL)
#else
XML(xmlErrorPtr, xmlCtxtGetLastError, (void *parser), (parser), NULL)
#endif
XML(int, xmlCtxtUseOptions, (xmlParserCtxtPtr parser, int options), (parser, options), -1)
LATE_VOID(PM_LIBXML2, xmlFreeDoc, (xmlDocPtr document), (document))
LATE_VOID(PM_LIBXML2, xmlFreeParserCtxt, (xmlParserCtxtPtr parser), (parser))
XML(int, xmlParseChunk, (xmlParserCtxtPtr parser, const char *bytes, int length, int ends),
    (parser, bytes, length, ends), XML_ERR_NO_MEMORY)
XML(int, xmlParseDocument, (xmlParserCtxtPtr parser), (parser), -1)
LATE_VOID(PM_LIBXML2, xmlSetGenericErrorFunc, (void *context, xmlGenericErrorFunc handler), (context, handler))
LATE_VOID(PM_LIBXML2, xmlStopParser, (xmlParserCtxtPtr parser), (parser))
XML(int, xmlStrcmp, (const xmlChar *a, const xmlChar *b), (a, b), -1)
XML(int, xmlSwitchEncoding, (xmlParserCtxtPtr parser, xmlCharEncoding encoding), (parser, encoding), -1)

/* The two that xmlGenericError and xmlGenericErrorContext are macros for. */
static xmlGenericErrorFunc no_handler;
static void *no_context;
XML(xmlGenericErrorFunc *, __xmlGenericError, (void), (), &no_handler)
XML(void **, __xmlGenericErrorContext, (void), (), &no_context)
