#include "wire/identify.h"
