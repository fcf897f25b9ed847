# Asked by cpack before it packs: without what works out its dependencies it would make a package that asks for no library.
cmake_minimum_required(VERSION 3.25)
foreach(tool dpkg-shlibdeps file)
  find_program(has_${tool} ${tool})
  if(NOT has_${tool})
    message(FATAL_ERROR "${tool} is not there: apt-get install dpkg-dev file")
  endif()
endforeach()
