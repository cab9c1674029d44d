# Turns a text file into a C file that defines it as an array of char, ended by a zero:
#
#     cmake -DINPUT=markets.yaml -DOUTPUT=markets_text.c -DNAME=stv__markets_text -P embed_text.cmake
#
# An array of characters because a string literal may only be relied upon up to 4095 bytes.
foreach(wanted INPUT OUTPUT NAME)
  if(NOT DEFINED ${wanted})
    message(FATAL_ERROR "embed_text.cmake: -D${wanted}=... is needed")
  endif()
endforeach()
if(NOT EXISTS "${INPUT}")
  message(FATAL_ERROR "embed_text.cmake: there is no ${INPUT}")
endif()

file(READ "${INPUT}" bytes HEX)
set(sixteen_bytes "................................")
string(REGEX REPLACE "${sixteen_bytes}" "\\0\n" bytes "${bytes}")
string(REGEX REPLACE "[0-9a-f][0-9a-f]" "'\\\\x\\0'," bytes "${bytes}")
string(FIND "${bytes}" "x00" zero)
if(NOT zero EQUAL -1)
  message(FATAL_ERROR "embed_text.cmake: ${INPUT} holds a zero byte, so it is no text")
endif()

get_filename_component(from "${INPUT}" NAME)
file(WRITE "${OUTPUT}" "/* Made from ${from} by embed_text.cmake: edit that file. */\n"
  "const char ${NAME}[] = {\n${bytes}\n'\\0'};\n")
