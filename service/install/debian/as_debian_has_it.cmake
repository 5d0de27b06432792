# Run by CPack on the files of each package before they are packed: copyright and changelog where Debian has them, and
# manual pages compressed.
foreach(component IN LISTS CPACK_COMPONENTS_ALL)
  string(TOUPPER ${component} upper)
  set(name ${CPACK_DEBIAN_${upper}_PACKAGE_NAME})
  set(root ${CPACK_TEMPORARY_DIRECTORY}/${component}/usr/share)
  configure_file(${CMAKE_CURRENT_LIST_DIR}/copyright ${root}/doc/${name}/copyright COPYONLY)
  file(REMOVE ${root}/doc/${name}/LICENSE)
  string(TIMESTAMP day "%a, %d %b %Y %H:%M:%S +0000" UTC)
  file(WRITE ${root}/doc/${name}/changelog "${name} (${CPACK_PACKAGE_VERSION}) unstable; urgency=medium\n\n"
    "  * What changes for results is in /usr/share/doc/coilwright/docs/changes.md.\n\n"
    " -- ${CPACK_PACKAGE_CONTACT}  ${day}\n")
  file(GLOB files ${root}/man/man*/* ${root}/doc/${name}/changelog)
  execute_process(COMMAND gzip -9n ${files} COMMAND_ERROR_IS_FATAL ANY)
endforeach()
