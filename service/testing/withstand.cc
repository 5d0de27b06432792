#include "testing/withstand.h"
